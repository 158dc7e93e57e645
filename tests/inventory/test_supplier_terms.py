"""A supplier's terms: their money with its rate and day, days, smallest order, carriage, our number, whether we buy from them."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Supplier
from tests.builders import a_profile, a_supplier
from tests.conftest import StillClock
from tests.inventory.builders import errors_of, once, texts

pytestmark = pytest.mark.django_db
ADDRESS = "inventory:supplier_new"


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> None:
    a_profile()


def card(**typed: Any) -> dict[str, Any]:
    usual = {"name": "Kondensator Hof", "return_days": "14", "lead_days": "9", "in_use": "on"}
    return {"once": once(), **usual, **typed}


def test_all_terms_are_kept_in_their_money(counter_client: Client) -> None:
    typed = card(
        currency="eur",
        exchange="0,86",
        exchange_on="2026-02-27",
        minimum_order="25",
        carriage="5.90",
        carriage_free_from="75,00",
        our_number="K 20117",
    )
    assert counter_client.post(reverse(ADDRESS), typed).status_code == 302
    one = Supplier.objects.get()
    assert (one.currency, one.exchange_ppm, one.exchange_on, one.lead_days) == ("EUR", 860_000, date(2026, 2, 27), 9)
    assert (one.minimum_order_minor, one.carriage_minor, one.carriage_free_from_minor) == (2_500, 590, 7_500)
    assert (one.our_number, one.in_use) == ("K 20117", True)
    shown = counter_client.get(reverse("inventory:supplier_change", args=[one.pk]))
    assert [shown.context["form"][name].value() for name in ("exchange", "carriage")] == ["0.86", "5.90"]
    assert '<span class="unit" aria-hidden="true">EUR</span>' in texts(shown)


@pytest.mark.parametrize(("code", "typed", "minor"), [("JPY", "1200", 1_200), ("KWD", "1.250", 1_250), ("USD", "12.50", 1_250)])
def test_sums_have_the_decimals_of_their_currency(code: str, typed: str, minor: int, counter_client: Client) -> None:
    """Decimals by ISO 4217: none for JPY, three for KWD, two for USD."""
    counter_client.post(reverse(ADDRESS), card(currency=code, exchange="0.5", exchange_on="2026-03-01", carriage=typed))
    assert Supplier.objects.get().carriage_minor == minor


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"currency": "XYZ"}, "currency", "“XYZ” isn't a currency code of ISO 4217."),
        ({"currency": "EUR"}, "exchange", "Say what 1 EUR costs in GBP, such as 0.86."),
        ({"currency": "EUR", "exchange": "0.86"}, "exchange_on", "Say of which day this rate is."),
        ({"currency": "EUR", "exchange": "0"}, "exchange", "A rate is above nothing and below a million."),
        ({"currency": "EUR", "exchange": "-1"}, "exchange", "A rate is above nothing and below a million."),
        ({"currency": "EUR", "exchange": "1e9"}, "exchange", "A rate is above nothing and below a million."),
        ({"currency": "EUR", "exchange": "NaN"}, "exchange", "A rate has 6 decimals at most."),
        ({"currency": "EUR", "exchange": "0.8600001"}, "exchange", "A rate has 6 decimals at most."),
        ({"currency": "EUR", "exchange": "about one"}, "exchange", "“about one” can't be read as a rate. Type it like 0.86."),
        ({"currency": "JPY", "exchange": "0.0053", "exchange_on": "2026-03-01", "carriage": "5.90"}, "carriage", "JPY has 0."),
        ({"carriage": "-1"}, "carriage", "A sum can't be below zero here."),
        ({"lead_days": "-1"}, "lead_days", "greater than or equal to 0"),
        ({"lead_days": "99999"}, "lead_days", "less than or equal to 3650"),
    ],
)
def test_bad_terms_are_refused_in_words_and_stay_typed(
    typed: dict[str, str], field: str, text: str, counter_client: Client
) -> None:
    told = counter_client.post(reverse(ADDRESS), card(our_number="K 20117", **typed))
    assert told.status_code == 422
    assert text in errors_of(told)[field][0]
    assert 'value="K 20117"' in told.content.decode()
    assert not Supplier.objects.exists()


def test_the_shops_own_money_needs_no_rate(counter_client: Client) -> None:
    counter_client.post(reverse(ADDRESS), card(currency="GBP", exchange="1.2"))
    one = Supplier.objects.get()
    assert (one.exchange_ppm, one.exchange_on) == (1_000_000, None)


def test_a_card_sent_twice_is_one_supplier(counter_client: Client) -> None:
    form = card()
    for _ in range(2):
        assert counter_client.post(reverse(ADDRESS), form).status_code == 302
    assert Supplier.objects.count() == 1


def test_two_change_the_terms_and_the_second_is_told(counter_client: Client, owner_client: Client) -> None:
    one = a_supplier()
    address = reverse("inventory:supplier_change", args=[one.pk])
    seen = counter_client.get(address).context["form"]["seen"].value()
    mine = card(name=one.name, carriage="4.50", seen=seen)
    assert counter_client.post(address, mine).status_code == 302
    told = owner_client.post(address, card(name=one.name, carriage="6.00", lead_days="3", seen=seen))
    assert told.status_code == 422
    assert dict(told.context["now"]) == {"Carriage of one order": "4.50", "Days until parts arrive": "9"}
    again = card(name=one.name, carriage="6.00", lead_days="3", seen=told.context["form"]["seen"].value())
    assert owner_client.post(address, again).status_code == 302
    one.refresh_from_db()
    assert (one.carriage_minor, one.lead_days) == (600, 3)


def test_whom_we_no_longer_buy_from_is_not_offered_for_orders(counter_client: Client) -> None:
    one = a_supplier()
    address = reverse("inventory:supplier_change", args=[one.pk])
    form = card(name=one.name, seen=counter_client.get(address).context["form"]["seen"].value())
    del form["in_use"]
    assert counter_client.post(address, form).status_code == 302
    assert "Not bought from" in texts(counter_client.get(reverse("inventory:suppliers")))
    told = counter_client.post(reverse("inventory:order_new"), {"once": once(), "supplier": one.pk})
    assert errors_of(told) == {"supplier": ["Choose a supplier we buy from."]}
