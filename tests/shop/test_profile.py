"""The terms of the shop: changed from now on, never what was frozen before."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.models import Invoice
from jobs.models import Stage
from shop.forms.profile import FIELDS, values_of
from shop.models import Profile
from shop.money import plain
from tests.builders import a_job, a_part, a_profile, an_invoice
from tests.inventory.builders import errors_of, once, texts

NO_FEES = ("in_the_hour_below_minor", "minimum_fee_minor", "decline_fee_minor", "hour_cost_minor")
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def as_typed(**typed: Any) -> dict[str, Any]:
    """The form as it is drawn, but for what is typed."""
    terms = Profile.objects.get()
    start = values_of(terms)
    start |= {name: plain(start[name], terms.currency) for name in FIELDS if name.endswith("_minor")}
    start |= {name: f"{start[name] / 100:g}" for name in FIELDS if name.endswith("_bp")}
    if not start["prices_include_tax"]:
        del start["prices_include_tax"]
    return {"once": once(), "seen": terms.version, **start, **typed}


def save(client: Client, **typed: Any) -> Any:
    return client.post(reverse("shop:profile"), as_typed(**typed))


def test_terms_are_changed_and_counted(owner_client: Client) -> None:
    answer = save(
        owner_client,
        hour_rate_minor="48.50",
        hour_cost_minor="31.20",
        allowance_bp="10",
        parts_tax_bp="17.5",
        country="us",
        locale="en-US",
    )
    assert answer.status_code == 302
    terms = Profile.objects.get()
    assert (terms.hour_rate_minor, terms.hour_cost_minor) == (4850, 3120)
    assert (terms.allowance_bp, terms.parts_tax_bp) == (1000, 1750)
    assert (terms.country, terms.locale, terms.version) == ("US", "en_US", 2)
    said = texts(owner_client.get(answer["Location"]))
    assert "Estimates sent, entries of the change log, labour logged and invoices issued stay as they were." in said


def test_what_was_frozen_stays(owner_client: Client) -> None:
    job = a_job(Stage.READY)
    invoice = an_invoice(job)
    before = list(Invoice.objects.values()), list(job.estimates.values()), list(job.labour.values())  # type: ignore[attr-defined]
    assert (
        save(
            owner_client, hour_rate_minor="99", parts_tax_bp="20", labour_tax_bp="20", prices_include_tax="on", terms="New."
        ).status_code
        == 302
    )
    after = list(Invoice.objects.values()), list(job.estimates.values()), list(job.labour.values())  # type: ignore[attr-defined]
    assert after == before
    assert invoice.terms == ""


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"name": " "}, "name", "This field is required."),
        ({"country": "G1"}, "country", "“G1” isn't a country code. Use two letters, such as GB or US."),
        ({"currency": "XQQ"}, "currency", "“XQQ” isn't a currency code of ISO 4217. Use three letters, such as GBP or USD."),
        ({"locale": "klingon"}, "locale", "“klingon” isn't known. Use language and country, such as en_GB or de_DE."),
        ({"hour_rate_minor": "-1"}, "hour_rate_minor", "A sum can't be below zero here."),
        ({"hour_rate_minor": "lots"}, "hour_rate_minor", "“lots” can't be read as a sum. Type it like 12.50."),
        ({"parts_tax_bp": "120"}, "parts_tax_bp", "Type a percentage from 0 to 100."),
        ({"minute_step": "0"}, "minute_step", "Ensure this value is greater than or equal to 1."),
        ({"warranty_days": "99999"}, "warranty_days", "Ensure this value is less than or equal to 3650."),
        (
            {"safety_practice": "a wet finger"},
            "safety_practice",
            "Select a valid choice. a wet finger is not one of the available choices.",
        ),
    ],
)
def test_bad_terms_are_refused_in_words(typed: dict[str, str], field: str, text: str, owner_client: Client) -> None:
    answer = save(owner_client, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert Profile.objects.get().version == 1


def test_the_currency_changes_only_while_nothing_is_written_in_it(owner_client: Client) -> None:
    # The sums of the same form are read in the currency it names: yen have no smaller coin.
    yen = {"currency": "JPY", "hour_rate_minor": "6000", "inspection_fee_minor": "3000", **dict.fromkeys(NO_FEES, "0")}
    assert save(owner_client, **yen).status_code == 302
    assert Profile.objects.get().hour_rate_minor == 6000
    a_job()
    answer = save(owner_client, currency="EUR")
    assert errors_of(answer)["currency"] == [
        "Costs, prices or bills are written down in JPY already, and would be taken for EUR without being converted. "
        "Keep JPY, or start a shop of its own."
    ]


def test_the_second_of_two_editors_is_told_and_keeps_what_was_typed(owner_client: Client) -> None:
    first, second = as_typed(phone="0171 496 0001"), as_typed(phone="0171 496 0002")
    assert owner_client.post(reverse("shop:profile"), first).status_code == 302
    answer = owner_client.post(reverse("shop:profile"), second)
    assert answer.status_code == 422
    page = texts(answer)
    assert "The profile was changed by somebody else since you opened it. Compare, then send again." in page
    assert "0171 496 0001" in page
    assert 'value="0171 496 0002"' in page


def test_the_form_sent_twice_counts_once(owner_client: Client) -> None:
    form = as_typed(phone="0171 496 0001")
    for _ in range(2):
        assert owner_client.post(reverse("shop:profile"), form).status_code == 302
    assert Profile.objects.get().version == 2


@pytest.mark.parametrize(("style", "said"), [("modern", "47 nF"), ("micro", "0.047 µF"), ("old", "0.047 MFD")])
def test_capacitance_is_written_as_the_shop_likes_it_and_read_in_every_way(owner_client: Client, style: str, said: str) -> None:
    assert save(owner_client, capacitance_style=style).status_code == 302
    part = a_part("0.047 µF 630 V")
    for typed in (".047", "47n", "0.047 MFD"):
        page = texts(owner_client.get(reverse("search"), {"q": typed}))
        assert f"for parts also read as {said}" in page
        assert part.marking in page, "what was typed stays as it was typed"
    doubtful = texts(owner_client.get(reverse("inventory:near"), {"kind": "capacitance", "near": "473"}))
    assert f"It is {said}" in doubtful
    again = owner_client.get(reverse("inventory:near"), {"kind": "capacitance", "near": "473", "reading-near": said})
    assert again.status_code == 200


def test_a_way_of_writing_that_nobody_knows_is_refused(owner_client: Client) -> None:
    answer = save(owner_client, capacitance_style="jars")
    assert answer.status_code == 422
    assert "capacitance_style" in errors_of(answer)
