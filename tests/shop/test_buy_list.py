"""The buy list and the basket as pages: ticked and typed counts are kept, orders are written once and as they were shown."""

import re
import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.buying.model import Model
from inventory.models import Kind, Offer, Order, OrderLine, Part
from jobs.models import Decision, Job, Stage
from jobs.services import log
from shop.clock import today
from tests.builders import a_job, a_part, a_profile, a_supplier, author, position_of
from tests.inventory.builders import texts
from tests.inventory.orders import an_offer, supplied_by

pytestmark = pytest.mark.django_db
LIST, BASKET = "/house/buy/", "/house/buy/basket/"


@pytest.fixture(autouse=True)
def _shop(still_clock: Any) -> None:
    a_profile()


@pytest.fixture
def no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search finds nothing before its time is over."""
    monkeypatch.setattr(Model, "solve", lambda self, seconds: None)


def needed(count: int = 2, promised_on: date | None = None) -> tuple[Job, Part]:
    """A job on the bench that needs a can which no drawer holds."""
    part = Part.objects.filter(marking="47 µF 450 V").first() or a_part("47 µF 450 V", list_price_minor=300)
    job = a_job(Stage.REPAIRING, with_fit=False, promised_on=promised_on)
    log.decide(position_of(job, "C3"), Decision.REPLACE, author(), plan=log.Plan(part, count))
    return job, part


def offered(part: Part, supplier: str = "Ferrule & Daughters", pounds: float = 2, code: str = "", **more: Any) -> Offer:
    unit = round(pounds * 100_000)
    facts = {"breaks": [[1, unit]], "unit_milli": unit, "pack_size": 1, "least_count": 1, **more}
    return an_offer(part, a_supplier(supplier), code or f"{supplier[:2]}-{part.pk}", **facts)


def picked(**counts: Any) -> dict[str, Any]:
    """What the list sends: `sure_12=3` ticks the row and types its count."""
    keys = {name.replace("_", "-"): count for name, count in counts.items()}
    return {"sent": "1", "days": "5", "take": list(keys), **{f"count-{key}": str(count) for key, count in keys.items()}}


def write(client: Client, page: Any, **changed: Any) -> Any:
    """Send the basket's form as the page holds it."""
    content = page.content.decode()
    form = content[content.index('<form method="post" action="/house/buy/basket/') :]
    action = re.search(r'action="([^"]+)"', form)
    fields: dict[str, Any] = {"line": []}
    for name, value in re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form):
        if name == "line":
            fields["line"].append(value)
        else:
            fields[name] = value
    assert action is not None
    return client.post(action.group(1).replace("&amp;", "&"), {**fields, **changed})


def test_the_list_says_what_is_needed_by_when_for_which_job_and_who_offers_it(counter_client: Client) -> None:
    job, part = needed(2, today() + timedelta(days=30))
    offered(part)
    page = texts(counter_client.get(LIST))
    assert f'name="take" value="sure-{part.pk}" checked' in page
    assert f'name="count-sure-{part.pk}" inputmode="numeric" autocomplete="off" value="2"' in page
    assert f"{job.number} C3" in page
    assert "27 Mar 2026" in page
    assert "Ferrule &amp; Daughters" in page


def test_what_nobody_offers_is_listed_with_what_to_do(owner_client: Client) -> None:
    needed()
    page = texts(owner_client.get(LIST))
    assert "No offer" in page
    assert "price list</a> and tie its line to this part" in page


def test_an_empty_list_says_what_brings_parts_onto_it(owner_client: Client) -> None:
    assert "Nothing is to be bought" in texts(owner_client.get(LIST))
    assert "Nothing is ticked" in texts(owner_client.get(BASKET))


def test_a_stranger_signs_in_first(stranger_client: Client) -> None:
    for address in (LIST, BASKET):
        answer = stranger_client.get(address)
        assert (answer.status_code, answer["Location"].split("?")[0]) == (302, reverse("login"))
    assert stranger_client.post(BASKET, {"line": "1:1:1"}).status_code == 302
    assert not Order.objects.exists()


def test_what_is_not_agreed_to_or_only_likely_is_shown_and_not_ticked(owner_client: Client) -> None:
    part = a_part("47 µF 450 V", list_price_minor=300)
    job = a_job(Stage.INSPECTING, with_fit=False)
    log.decide(position_of(job, "C3"), Decision.REPLACE, author(), plan=log.Plan(part))
    page = texts(owner_client.get(LIST))
    assert "Needed if the customer agrees" in page
    assert f'value="unanswered-{part.pk}"> <span>' in page


def test_the_basket_shows_orders_sums_days_and_what_plain_buying_costs(owner_client: Client) -> None:
    _, part = needed(2, today() + timedelta(days=30))
    film = a_part(minimum=5)
    supplied_by("Ferrule & Daughters", carriage_minor=500)
    supplied_by("Valvo Lane", carriage_minor=400)
    offered(part, pounds=3)
    offered(part, "Valvo Lane", pounds=3.50)
    offered(film, "Valvo Lane", pounds=1)
    page = texts(owner_client.get(BASKET))
    # By hand: 2 x 3.50 + 5 x 1.00 + 4.00 carriage; each where it is cheapest: 6.00 + 5.00 + 5.00 + 4.00.
    assert "The cheapest basket" in page
    assert "<dd>£16.00</dd>" in page
    assert 'cheapest at Valvo Lane</dt><dd>£16.00 <span class="soft">the same</span>' in page
    assert '£20.00 <span class="soft">£4.00 more, this basket saves 20 %</span>' in page
    assert "9 Mar 2026" in page


def test_typed_counts_go_to_the_basket_and_back_to_the_list(owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    page = owner_client.get(BASKET, picked(**{f"sure_{part.pk}": 7}))
    assert [line.count for line in page.context["basket"].lines] == [7]
    back = re.search(r'href="(/house/buy/\?[^"]+)"', page.content.decode())
    assert back is not None
    assert f'name="count-sure-{part.pk}" inputmode="numeric" autocomplete="off" value="7"' in texts(
        owner_client.get(back.group(1).replace("&amp;", "&"))
    )


@pytest.mark.parametrize("typed", ["0", "-3", "two", "1.5", "", "100001", "٣", "9" * 40])
def test_a_count_that_is_none_is_told_at_its_field_and_everything_typed_stays(typed: str, owner_client: Client) -> None:
    _, part = needed()
    film = a_part(minimum=5)
    answer = owner_client.get(BASKET, picked(**{f"sure_{part.pk}": typed, f"sure_{film.pk}": 9}))
    page = texts(answer)
    assert answer.status_code == 422
    assert "Type a whole number from 1 to 100,000, or take the tick away." in page
    assert 'autocomplete="off" value="9"' in page


@pytest.mark.parametrize("typed", ["-1", "61", "soon", "9" * 30])
def test_days_that_are_none_are_told(typed: str, owner_client: Client) -> None:
    needed()
    answer = owner_client.get(LIST, {"days": typed})
    assert answer.status_code == 422
    assert "Type days from 0 to 60; the list is reckoned with 5." in texts(answer)


@pytest.mark.parametrize("odd", [{"add": "9" * 30}, {"add": "x"}, {"take": "sure-x", "sent": "1"}, {"page": "x"}])
def test_an_odd_address_is_read_as_far_as_it_can_be(odd: dict[str, str], owner_client: Client) -> None:
    needed()
    assert owner_client.get(LIST, odd).status_code == 200


def test_a_part_comes_onto_the_list_by_hand_and_stays_there(owner_client: Client) -> None:
    part = a_part()
    offered(part)
    assert "Put here by hand" in texts(owner_client.get(LIST, {"add": part.pk}))
    page = owner_client.get(BASKET, {**picked(**{f"added_{part.pk}": 4}), "add": part.pk})
    assert [(line.part, line.count) for line in page.context["basket"].lines] == [(part, 4)]


def test_orders_are_written_as_they_were_shown(colleague_client: Client, colleague: Any) -> None:
    job, part = needed(2, today() + timedelta(days=30))
    film = a_part(minimum=5)
    offered(part, pounds=3, code="FD-47")
    offered(film, "Valvo Lane", pounds=1, pack_size=5)
    answer = write(colleague_client, colleague_client.get(BASKET))
    assert answer["Location"] == reverse("inventory:orders")
    lines = OrderLine.objects.select_related("order__supplier").order_by("part__kind", "pk")
    assert {
        (line.order.supplier.name, line.code, line.count, line.unit_milli, line.for_what, line.needed_on) for line in lines
    } == {
        ("Ferrule & Daughters", "FD-47", 2, 300_000, job.number, date(2026, 3, 27)),
        ("Valvo Lane", f"Va-{film.pk}", 5, 100_000, "stock", None),
    }
    assert {line.expected_on for line in lines} == {date(2026, 3, 9)}
    assert {order.made_by for order in Order.objects.all()} == {colleague}
    assert "orders are written and not sent yet." in texts(colleague_client.get(answer["Location"]))


def test_one_order_leads_to_its_own_page(owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    answer = write(owner_client, owner_client.get(BASKET))
    assert answer["Location"] == reverse("inventory:order", args=[Order.objects.get().pk])


def test_what_was_written_is_no_longer_to_be_bought(owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    write(owner_client, owner_client.get(BASKET))
    assert "Nothing is to be bought" in texts(owner_client.get(LIST))


def test_the_form_sent_twice_writes_once(owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    page = owner_client.get(BASKET, picked(**{f"sure_{part.pk}": 2}))
    first, second = write(owner_client, page), write(owner_client, page)
    assert Order.objects.count() == 1
    assert first["Location"] == second["Location"]
    assert "That form had already been sent" in texts(owner_client.get(second["Location"]))


def test_a_second_tab_is_told_of_the_first_ones_order_and_nothing_is_lost(owner_client: Client, colleague_client: Client) -> None:
    _, part = needed()
    film = a_part(minimum=5)
    offered(part)
    offered(film)
    asked = picked(**{f"sure_{part.pk}": 2, f"sure_{film.pk}": 5})
    both = [owner_client.get(BASKET, asked), colleague_client.get(BASKET, picked(**{f"sure_{film.pk}": 5}))]
    assert write(colleague_client, both[1]).status_code == 302
    answer = write(owner_client, both[0])
    assert answer.status_code == 422
    assert Order.objects.count() == 1
    page = texts(answer)
    assert "Orders changed since you opened this page: the newest is an order to Ferrule &amp; Daughters" in page
    assert f"count-sure-{part.pk}=2" in page
    assert write(owner_client, answer).status_code == 302


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"is_offered": False}, "is no longer offered"),
        ({"breaks": [[1, 250_000]]}, "about 2.50 GBP each now"),
        ({"pack_size": 5}, "is sold in other packs now"),
        ({"currency": "EUR"}, "is priced in another money"),
    ],
)
def test_an_offer_that_changed_since_is_told_and_the_basket_reckoned_anew(
    change: dict[str, Any], said: str, owner_client: Client
) -> None:
    _, part = needed()
    offer = offered(part)
    other = offered(part, "Valvo Lane", pounds=4)
    page = owner_client.get(BASKET)
    for name, value in change.items():
        setattr(offer, name, value)
    offer.save()
    answer = write(owner_client, page)
    assert answer.status_code == 422
    assert said in texts(answer)
    assert not Order.objects.exists()
    assert {line.offer for line in answer.context["basket"].lines} <= {offer, other}
    assert write(owner_client, answer).status_code == 302
    assert Order.objects.count() == 1


def test_a_supplier_we_no_longer_buy_from_is_told(owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    page = owner_client.get(BASKET)
    supplied_by("Ferrule & Daughters", in_use=False)
    answer = write(owner_client, page)
    assert "is no longer offered" in texts(answer)
    assert not Order.objects.exists()


def test_what_is_no_longer_needed_is_told(owner_client: Client) -> None:
    job, part = needed()
    film = a_part(minimum=5)
    offered(part)
    offered(film)
    page = owner_client.get(BASKET)
    log.decide(position_of(job, "C3"), Decision.KEEP, author(), why="reads well")
    answer = write(owner_client, page)
    assert "no longer on the list" in texts(answer)
    assert not Order.objects.exists()


@pytest.mark.parametrize("line", ["", "1", "1:2", "x:1:1", "1:1:1:1", "1:-1:1", f"{'9' * 20}:1:1"])
def test_a_line_that_is_none_writes_nothing(line: str, owner_client: Client) -> None:
    _, part = needed()
    offered(part)
    answer = write(owner_client, owner_client.get(BASKET), line=[line])
    assert answer.status_code == 422
    assert not Order.objects.exists()


def test_a_form_without_its_token_writes_nothing(owner_client: Client) -> None:
    _, part = needed()
    offer = offered(part)
    answer = owner_client.post(BASKET, {"once": "", "seen": "1", "line": f"{offer.pk}:2:200000"})
    assert answer.status_code == 422
    assert owner_client.post(BASKET, {"once": str(uuid.uuid4()), "line": []}).status_code == 422
    assert not Order.objects.exists()


def test_what_comes_late_and_what_nobody_sells_is_said(owner_client: Client) -> None:
    _, part = needed(2, today() + timedelta(days=8))
    offered(part, lead_days=20)
    film, can = a_part(minimum=5), a_part("16 µF 450 V", minimum=1)
    offered(can, pounds=0)
    page = texts(owner_client.get(BASKET))
    assert 'needed by <time datetime="2026-03-05">5 Mar 2026</time>, here on <time datetime="2026-03-22">' in page
    assert "17 days late" in page
    assert "no supplier offers it" in page
    assert f"{film.title}</a></strong>: no supplier" in page
    assert f"{can.title}</a></strong>: it is offered without a price" in page


def test_a_basket_of_nothing_offered_says_what_to_do(owner_client: Client) -> None:
    needed()
    assert "Nobody offers what was ticked" in texts(owner_client.get(BASKET))


def test_prices_in_other_money_are_turned_by_the_card(owner_client: Client) -> None:
    """2 x 500 JPY and 300 JPY carriage at 0.005 are 6.50; yen have no smaller coin."""
    _, part = needed()
    supplied_by("Valvo Lane", currency="JPY", exchange_ppm=5_000, carriage_minor=300)
    offered(part, "Valvo Lane", currency="JPY", breaks=[[1, 500_000]], unit_milli=500_000)
    page = texts(owner_client.get(BASKET))
    assert "<dd>£6.50</dd>" in page
    assert "¥1,300" in page


def test_a_search_that_ran_out_of_time_says_so(owner_client: Client, no_time: None) -> None:
    _, part = needed()
    offered(part)
    page = owner_client.get(BASKET)
    assert "The best basket found" in texts(page)
    assert "Not proved" in texts(page)
    assert page.context["basket"].lines


@pytest.mark.parametrize("address", [LIST, BASKET])
def test_pages_ask_as_often_for_five_hundred_wants_as_for_one(
    address: str, owner_client: Client, django_assert_max_num_queries: Any, no_time: None
) -> None:
    first = a_part("10K 1/2W", Kind.RESISTOR, minimum=5)
    offered(first)
    counts = []
    for many in (1, 50, 500):
        more = [Part(kind=Kind.RESISTOR, marking=f"{many}-{n}K 1/2W", minimum=2) for n in range(many)]
        parts = Part.objects.bulk_create(more)
        for part in parts:
            offered(part)
        with django_assert_max_num_queries(30) as seen:
            assert owner_client.get(address).status_code == 200
        counts.append(len(seen.captured_queries))
    assert counts == [counts[0]] * 3
