"""A supplier's bill held against what was ordered and what came: every difference with its sum, and who may accept it."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Order, SupplierBill
from inventory.queries.supplier_bills import standing_of_bill, unbilled
from inventory.services.supplier_bills import BillFacts, BillLineFacts, accept_bill, add_bill, change_bill, remove_bill
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Staff
from tests.builders import a_drawer, a_part, a_profile, a_staff
from tests.conftest import StillClock
from tests.inventory.builders import errors_of, once, post, texts
from tests.inventory.orders import a_bill, a_sent_order, arrive, draft_line, line_of, supplied_by

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    a_profile()
    a_drawer()
    return still_clock


def came(count: int = 10, of: int = 10, carriage: int = 0, name: str = "Ferrule & Daughters") -> Order:
    """An order of 10 at 0.205, of which some came."""
    order = a_sent_order(draft_line(count=of), supplier=supplied_by(name, carriage_minor=carriage))
    if count:
        arrive(line_of(order), count)
    return order


def told(bill: SupplierBill) -> list[tuple[str, int]]:
    return [(one.code, one.minor) for one in standing_of_bill(bill).differences]


def test_a_bill_that_agrees_has_no_difference_and_anybody_accepts_it() -> None:
    order = came(carriage=450)
    bill = a_bill(line_of(order), 10, carriage_minor=450)
    assert told(bill) == []
    done = accept_bill(bill, person=a_staff(), at=now(), why="not needed")
    assert (done.accepted_at, done.accepted_by, done.accepted_why) == (now(), a_staff(), "")


@pytest.mark.parametrize(
    ("count", "typed", "expected"),
    [
        (10, {"unit_milli": 21_500}, [("price", 10)]),
        (10, {"unit_milli": 20_000}, [("price", -5)]),
        (12, {}, [("not_received", 41)]),
        (10, {"net_minor": 300}, [("sum", 95)]),
        (10, {"net_minor": 204}, [("sum", -1)]),
        (10, {"carriage_minor": 450}, [("carriage", 450)]),
        (12, {"unit_milli": 30_000, "net_minor": 400}, [("price", 114), ("not_received", 60), ("sum", 40)]),
    ],
)
def test_every_difference_is_listed_with_its_sum(count: int, typed: dict[str, int], expected: list[tuple[str, int]]) -> None:
    """Worked by hand: 10 ordered and received at 0.205; 2 more are 0.41, a hundredth more on each of ten is 0.10."""
    bill = a_bill(line_of(came()), count, **typed)
    assert told(bill) == expected
    assert standing_of_bill(bill).above_minor == sum(minor for _, minor in expected)


def test_carriage_is_owed_once_an_order() -> None:
    order = came(4, carriage=450)
    first = a_bill(line_of(order), 4, carriage_minor=450)
    assert told(first) == []
    arrive(line_of(order), 6)
    assert told(a_bill(line_of(order), 6, number="R 1208")) == []
    assert told(a_bill(line_of(came(carriage=450)), 10, number="R 1209")) == [("carriage", -450)]


def test_what_is_billed_twice_names_the_other_bill() -> None:
    order = came()
    a_bill(line_of(order), 10, number="R 1207")
    again = a_bill(line_of(order), 4, number="R 1208")
    assert told(again) == [("billed_twice", 82)]
    assert "4 of 4 billed before, on R 1207" in standing_of_bill(again).differences[0].text


def test_one_line_twice_on_one_bill_is_found() -> None:
    order = came()
    line = line_of(order)
    facts = BillFacts("R 1", now().date(), "GBP", 410)
    twice = [BillLineFacts(line.text, 10, 20_500, line)] * 2
    bill = add_bill(order.supplier, facts, twice, person=a_staff(), at=now())
    assert told(bill) == [("billed_twice", 205)]


def test_what_no_order_names_is_a_difference() -> None:
    order = came()
    line = line_of(order)
    lines = [BillLineFacts(line.text, 10, 20_500, line), BillLineFacts("small order surcharge", 1, 300_000)]
    bill = add_bill(order.supplier, BillFacts("R 1", now().date(), "GBP", 505), lines, person=a_staff(), at=now())
    assert told(bill) == [("not_ordered", 300)]


def test_differences_take_the_owner_and_a_reason(owner: Staff) -> None:
    bill = a_bill(line_of(came()), 12)
    with pytest.raises(Refused, match=r"has one difference \(£0\.41 in all\).*let the owner accept it"):
        accept_bill(bill, person=a_staff(), at=now(), why="they always round")
    with pytest.raises(Refused, match="Say why it is accepted all the same"):
        accept_bill(bill, person=owner, at=now(), why="  ")
    done = accept_bill(bill, person=owner, at=now(), why="two more are on the way")
    assert done.accepted_why == "two more are on the way"


def test_an_accepted_bill_stands_as_it_is(owner: Staff) -> None:
    bill = accept_bill(a_bill(line_of(came()), 10), person=owner, at=now())
    facts = BillFacts("other", now().date(), "GBP", 1)
    for change in (
        lambda: change_bill(bill, facts, [BillLineFacts("x", 1, 1)], seen=bill.version),
        lambda: remove_bill(bill),
        lambda: accept_bill(bill, person=owner, at=now()),
    ):
        with pytest.raises(Refused, match="accepted and stands as it is"):
            change()


def test_one_bill_is_written_down_once_for_each_supplier() -> None:
    a_bill(line_of(came()), 10)
    with pytest.raises(Refused, match="Bill R 1207 of Ferrule & Daughters is written down already"):
        a_bill(line_of(came()), 10)
    a_bill(line_of(came(name="Tinplate Mews")), 10)


def test_a_bill_taken_away_leaves_its_parts_unbilled() -> None:
    order = came()
    bill = a_bill(line_of(order), 10)
    assert not unbilled()
    remove_bill(bill, seen=bill.version)
    assert [(line.pk, line.not_billed) for line in unbilled()] == [(line_of(order).pk, 10)]  # type: ignore[attr-defined]
    with pytest.raises(Stale, match="Somebody else took this bill away"):
        remove_bill(bill)


def test_a_bill_in_other_money_compares_in_that_money() -> None:
    yen = supplied_by(currency="JPY", exchange_ppm=5_300, carriage_minor=1_200)
    order = a_sent_order(draft_line(count=10, unit_milli=185_500), supplier=yen)
    arrive(line_of(order), 10, 98_315)
    bill = a_bill(line_of(order), 10, 200_000, carriage_minor=1_200)
    assert (bill.currency, bill.net_minor) == ("JPY", 3_200)
    assert told(bill) == [("price", 145)]


def bill_form(order: Order, count: str = "10", **typed: Any) -> dict[str, Any]:
    line = line_of(order)
    usual = {"number": "R 1207", "billed_on": "2026-03-02", "net": "2.05", "tax": "0.41"}
    return {"once": once(), **usual, f"count_{line.pk}": count, f"unit_{line.pk}": "0.205", **typed}


def new_address(order: Order) -> str:
    return f"{reverse('inventory:supplier_bill_new')}?supplier={order.supplier_id}"


def test_the_form_is_filled_with_what_came_and_is_not_billed(counter_client: Client) -> None:
    order = came(7)
    assert "Ferrule &amp; Daughters" in texts(counter_client.get(reverse("inventory:supplier_bill_new")))
    form = counter_client.get(new_address(order)).context["form"]
    line = line_of(order)
    assert (form[f"count_{line.pk}"].value(), form[f"unit_{line.pk}"].value()) == (7, "0.205")
    a_bill(line, 7, number="R 1")
    form = counter_client.get(new_address(order)).context["form"]
    assert form[f"count_{line.pk}"].value() is None, "three are still to come, and may be billed before"


def test_a_bill_sent_twice_is_one_bill(counter_client: Client) -> None:
    order = came()
    form = bill_form(order)
    for _ in range(2):
        assert counter_client.post(new_address(order), form).status_code == 302
    bill = SupplierBill.objects.get()
    assert (bill.net_minor, bill.tax_minor, bill.currency) == (205, 41, "GBP")
    page = texts(counter_client.get(reverse("inventory:supplier_bill", args=[bill.pk])))
    assert "Prices, counts, carriage and sum are what was ordered and what came." in page
    assert "£2.46" in page
    assert post(counter_client, "inventory:supplier_bill_accept", bill.pk, seen=bill.version).status_code == 302
    bill.refresh_from_db()
    assert bill.accepted_at == now()


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"number": ""}, "number", "This field is required."),
        ({"net": ""}, "net", "This field is required."),
        ({"net": "two pounds"}, "net", "“two pounds” can't be read as a sum."),
        ({"tax": "-1"}, "tax", "A sum can't be below zero here."),
        ({"billed_on": "soon"}, "billed_on", "That is no date we can read."),
        ({"due_on": "2026-02-01"}, "due_on", "It falls due before it was written."),
        ({"other_text_0": "surcharge"}, "other_sum_0", "Type what the bill charges for it."),
        ({"other_sum_0": "3.00"}, "other_text_0", "Say what this sum is for."),
    ],
)
def test_a_bad_bill_is_refused_in_words_and_stays_typed(
    typed: dict[str, str], field: str, text: str, counter_client: Client
) -> None:
    answer = counter_client.post(new_address(came()), bill_form(came(), **{"note": "thin paper", **typed}))
    assert answer.status_code == 422
    assert text in errors_of(answer)[field][0]
    assert 'value="thin paper"' in answer.content.decode()
    assert not SupplierBill.objects.exists()


@pytest.mark.parametrize(
    ("count", "text"), [("0", "must be from 1 to 100,000"), ("-3", "must be from 1"), ("9" * 30, "from 1 to")]
)
def test_absurd_counts_are_refused_at_their_line(count: str, text: str, counter_client: Client) -> None:
    order = came()
    answer = counter_client.post(new_address(order), bill_form(order, count))
    assert text in errors_of(answer)[f"count_{line_of(order).pk}"][0]


def test_a_bill_for_nothing_is_refused(counter_client: Client) -> None:
    order = came()
    answer = counter_client.post(new_address(order), bill_form(order, ""))
    assert "Say what the bill charges for" in errors_of(answer)["__all__"][0]


def test_the_owner_accepts_with_a_reason_and_nobody_else(counter_client: Client, owner_client: Client) -> None:
    order = came()
    bill = a_bill(line_of(order), 12)
    page = reverse("inventory:supplier_bill", args=[bill.pk])
    assert "With differences only the owner accepts it." in texts(counter_client.get(page))
    assert "Accept it all the same" in texts(owner_client.get(page))
    accept = "inventory:supplier_bill_accept"
    assert post(counter_client, accept, bill.pk, seen=bill.version).status_code == 409
    assert post(counter_client, accept, bill.pk, seen=bill.version, why="fine by me").status_code == 422
    refused = post(owner_client, accept, bill.pk, seen=bill.version, why="")
    assert errors_of(refused) == {"why": ["This field is required."]}
    assert post(owner_client, accept, bill.pk, seen=bill.version, why="they follow").status_code == 302
    assert "Accepted with differences" in texts(counter_client.get(page))


def test_two_correct_one_bill_and_the_second_is_told(counter_client: Client, owner_client: Client) -> None:
    order = came()
    bill = a_bill(line_of(order), 10)
    change = reverse("inventory:supplier_bill_change", args=[bill.pk])
    assert counter_client.post(change, bill_form(order, seen=bill.version, net="2.50")).status_code == 302
    answer = owner_client.post(change, bill_form(order, seen=bill.version, net="2.60"))
    assert answer.status_code == 422
    assert dict(answer.context["now"])["Sum without tax"] == "2.50"
    assert owner_client.post(change, bill_form(order, seen=answer.context["form"]["seen"].value(), net="2.60")).status_code == 302
    bill.refresh_from_db()
    assert bill.net_minor == 260
    # What was checked is what is accepted: a bill that changed since is not.
    assert post(owner_client, "inventory:supplier_bill_accept", bill.pk, seen=1, why="as agreed").status_code == 422


def test_another_line_is_kept_when_the_bill_is_corrected(counter_client: Client) -> None:
    order = came()
    counter_client.post(new_address(order), bill_form(order, other_text_0="surcharge", other_sum_0="3.00", net="5.05"))
    bill = SupplierBill.objects.get()
    change = reverse("inventory:supplier_bill_change", args=[bill.pk])
    form = counter_client.get(change).context["form"]
    assert (form["other_text_0"].value(), form["other_sum_0"].value()) == ("surcharge", "3.00")
    assert counter_client.post(change, bill_form(order, seen=bill.version)).status_code == 302
    assert [line.text for line in bill.lines.all()] == [line_of(order).text]  # type: ignore[attr-defined]


def test_a_bill_is_taken_away_once(counter_client: Client) -> None:
    bill = a_bill(line_of(came()), 10)
    for _ in range(2):
        assert post(counter_client, "inventory:supplier_bill_remove", bill.pk, seen=bill.version).status_code == 302
    assert not SupplierBill.objects.exists()


def test_what_came_and_was_not_billed_is_listed(counter_client: Client) -> None:
    order = came(7)
    a_bill(line_of(order), 5)
    page = texts(counter_client.get(reverse("inventory:unbilled")))
    assert order.number in page
    assert "£0.41" in page
    assert "2 not yet" in texts(counter_client.get(reverse("inventory:order", args=[order.pk])))


def test_the_list_puts_what_is_to_be_accepted_first(counter_client: Client, shop: StillClock) -> None:
    accept_bill(a_bill(line_of(came()), 10, number="R 1"), person=a_staff(), at=now())
    a_bill(line_of(came()), 10, number="R 2", due_on=now().date() + timedelta(days=5))
    a_bill(line_of(came()), 10, number="R 3", due_on=now().date() + timedelta(days=2))
    shop.forward(days=3)
    page = texts(counter_client.get(reverse("inventory:supplier_bills")))
    assert page.index("R 3") < page.index("R 2") < page.index("R 1<")
    assert page.count("Past due") == 1
    narrowed = texts(counter_client.get(reverse("inventory:supplier_bills"), {"show": "open"}))
    assert "R 1<" not in narrowed


def test_a_bill_asks_as_often_for_fifty_lines_as_for_one(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    counts = []
    for lines in (1, 50):
        order = a_sent_order(*(draft_line(a_part(f"{n + 10}K {lines}W", "resistance")) for n in range(lines)))
        listed = list(order.lines.all())  # type: ignore[attr-defined]
        for line in listed:
            arrive(line, 10)
        facts = BillFacts(f"R {lines}", now().date(), "GBP", 205 * lines)
        rows = [BillLineFacts(line.text, 10, 20_500, line) for line in listed]
        bill = add_bill(order.supplier, facts, rows, person=a_staff(), at=now())
        for name in ("supplier_bill", "supplier_bill_change"):
            with django_assert_max_num_queries(30) as seen:
                assert owner_client.get(reverse(f"inventory:{name}", args=[bill.pk])).status_code == 200
            counts.append(len(seen.captured_queries))
    assert counts[:2] == counts[2:]
