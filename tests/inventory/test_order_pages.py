"""The pages of orders as a browser sends them: writing, sending, receiving, and what two people do to one order."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.documents import order as paper
from inventory.models import Lot, Order, OrderLine
from inventory.queries.order_paper import order_paper, order_rows
from inventory.queries.orders import standing_of
from inventory.services import orders
from shop.clock import now
from shop.models import Profile
from shop.money import as_money
from shop.tabular import read_csv
from tests.builders import a_drawer, a_lot, a_part, a_profile
from tests.conftest import StillClock
from tests.inventory.builders import errors_of, once, post, texts
from tests.inventory.orders import a_draft, a_sent_order, an_offer, arrive, draft_line, line_of, supplied_by
from tests.paper.papers import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop(still_clock: StillClock) -> StillClock:
    a_profile()
    a_drawer()
    return still_clock


def line_form(**typed: Any) -> dict[str, Any]:
    usual = {"count": "20", "unit": "", "pack_size": "1", "code": "", "text": "film 47 nF", "for_what": "J-2026-0003"}
    return {"once": once(), **usual, **typed}


def head(order: Order) -> Order:
    return Order.objects.get(pk=order.pk)


def test_an_order_is_begun_filled_from_an_offer_and_sent(counter_client: Client) -> None:
    supplier = supplied_by(carriage_minor=450)
    offer = an_offer(supplier=supplier)
    begun = post(counter_client, "inventory:order_new", supplier=supplier.pk)
    order = Order.objects.get()
    add = reverse("inventory:order_line_add", args=[order.pk])
    assert begun["Location"] == add
    found = texts(counter_client.get(add, {"q": "fd-473"}))
    assert "FD-473" in found
    assert "packs of 10" in found
    shown = counter_client.get(add, {"offer": offer.pk})
    assert shown.context["form"].initial["count"] == 10
    assert counter_client.post(f"{add}?offer={offer.pk}", line_form()).status_code == 302
    line = line_of(order)
    assert (line.unit_milli, line.pack_size, line.for_what) == (30_000, 10, "J-2026-0003")
    asked = texts(counter_client.get(reverse("inventory:order_send", args=[order.pk])))
    assert "£6.00" in asked
    assert "£10.50" in asked
    sent = post(counter_client, "inventory:order_send", order.pk, seen=head(order).version)
    assert sent.status_code == 302
    assert head(order).number == "B-2026-0001"


def test_another_count_takes_the_price_of_its_break(colleague_client: Client) -> None:
    offer = an_offer()
    order = a_draft(draft_line(offer.part, 20, 30_000, offer=offer, pack_size=10, code=offer.code, text="film"))
    change = reverse("inventory:order_line_change", args=[line_of(order).pk])
    assert colleague_client.get(change).context["form"].initial["unit"] is None
    colleague_client.post(change, line_form(count="200", pack_size="10", seen=order.version))
    assert (line_of(order).count, line_of(order).unit_milli) == (200, 22_500)
    typed = colleague_client.post(change, line_form(count="50", unit="0.28", seen=head(order).version))
    assert typed.status_code == 302, errors_of(typed)
    assert line_of(order).unit_milli == 28_000
    assert colleague_client.get(change).context["form"].initial["unit"] == 28_000


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"count": "15"}, "count", "film 47 nF comes in packs of 10. Order 20, or fewer packs."),
        ({"count": "5"}, "count", "They sell at least 10 of film 47 nF."),
        ({"count": ""}, "count", "This field is required."),
        ({"count": "many"}, "count", "Enter a whole number."),
        ({"count": "9" * 40}, "count", "The count of film 47 nF must be from 1 to 100,000."),
        ({"unit": "cheap"}, "unit", "“cheap” can't be read as a sum. Type it like 12.50."),
        ({"unit": "-1"}, "unit", "A cost can't be below zero."),
        ({"text": ""}, "text", "This field is required."),
        ({"needed_on": "soon"}, "needed_on", "That is no date we can read. Type it like 2025-03-14."),
    ],
)
def test_a_bad_line_is_refused_in_words_and_stays_typed(
    typed: dict[str, str], field: str, text: str, colleague_client: Client
) -> None:
    offer = an_offer()
    order = a_draft()
    address = f"{reverse('inventory:order_line_add', args=[order.pk])}?offer={offer.pk}"
    told = colleague_client.post(address, line_form(**typed))
    assert told.status_code == 422
    assert errors_of(told) == {field: [text]}
    assert 'value="J-2026-0003"' in told.content.decode()
    assert head(order).lines.count() == 1  # type: ignore[attr-defined]


def test_a_card_without_an_offer_needs_its_price(colleague_client: Client) -> None:
    order, part = a_draft(), a_part("1K 1/2W", "resistance")
    address = f"{reverse('inventory:order_line_add', args=[order.pk])}?part={part.pk}"
    told = colleague_client.post(address, line_form(count="100", text="1K"))
    assert errors_of(told) == {"unit": ["Type the price of one. They have no list price for this part."]}
    assert colleague_client.post(address, line_form(count="100", text="1K", unit="0.0125")).status_code == 302
    assert line_of(order, 1).unit_milli == 1_250


def test_an_offer_without_a_card_is_not_ordered_blindly(colleague_client: Client) -> None:
    order = a_draft()
    offer = an_offer(code="FD-9")
    offer.part = None
    offer.save()
    add = reverse("inventory:order_line_add", args=[order.pk])
    assert colleague_client.get(add, {"offer": offer.pk})["Location"] == f"{add}?q=FD-9"
    other = an_offer(supplier=supplied_by("Tinplate Mews"))
    assert colleague_client.get(add, {"offer": other.pk}).status_code == 404


def test_a_line_sent_twice_is_one_line_and_can_be_taken_off(colleague_client: Client) -> None:
    offer, order = an_offer(), a_draft()
    address = f"{reverse('inventory:order_line_add', args=[order.pk])}?offer={offer.pk}"
    form = line_form()
    for _ in range(2):
        assert colleague_client.post(address, form).status_code == 302
    assert head(order).lines.count() == 2  # type: ignore[attr-defined]
    added = line_of(order, 1)
    for _ in range(2):
        post(colleague_client, "inventory:order_line_remove", added.pk, seen=head(order).version)
    assert head(order).lines.count() == 1  # type: ignore[attr-defined]


def test_two_editors_of_one_line_the_second_is_told_and_keeps_what_was_typed(colleague_client: Client) -> None:
    order = a_draft()
    change, seen = reverse("inventory:order_line_change", args=[line_of(order).pk]), order.version
    colleague_client.post(change, line_form(count="30", unit="0.205", seen=seen))
    told = colleague_client.post(change, line_form(count="40", unit="0.205", seen=seen))
    assert told.status_code == 422
    assert "Somebody else changed this order since you opened it." in texts(told)
    assert dict(told.context["now"])["How many"] == "30"
    again = colleague_client.post(change, line_form(count="40", unit="0.205", seen=told.context["form"]["seen"].value()))
    assert again.status_code == 302
    assert line_of(order).count == 40


def test_carriage_and_note_are_written_beside_the_lines(colleague_client: Client) -> None:
    order = a_draft(supplier=supplied_by(carriage_minor=450))
    seen = order.version
    assert post(
        colleague_client, "inventory:order_head", order.pk, carriage="3.50", note="to the back door", seen=seen
    ).status_code
    assert (head(order).carriage_minor, head(order).note) == (350, "to the back door")
    shown = texts(colleague_client.get(reverse("inventory:order", args=[order.pk])))
    assert "By their terms the carriage would be £4.50." in shown
    told = post(colleague_client, "inventory:order_head", order.pk, carriage="9", note="later", seen=seen)
    assert told.status_code == 422
    assert "later" in texts(told)
    assert head(order).carriage_minor == 350


def test_an_order_sent_twice_has_one_number(colleague_client: Client) -> None:
    order = a_draft()
    form = {"once": once(), "seen": order.version}
    for _ in range(2):
        assert colleague_client.post(reverse("inventory:order_send", args=[order.pk]), form).status_code == 302
    assert post(colleague_client, "inventory:order_send", order.pk, seen=order.version).status_code == 409
    assert head(order).number == "B-2026-0001"


def test_an_order_that_changed_meanwhile_is_not_sent_unseen(colleague_client: Client) -> None:
    order = a_draft()
    seen = order.version
    orders.add_line(order, draft_line(a_part("1K 1/2W", "resistance")))
    told = post(colleague_client, "inventory:order_send", order.pk, seen=seen)
    assert told.status_code == 409
    assert head(order).number == ""


def test_a_smallest_order_is_warned_about_and_not_refused(colleague_client: Client) -> None:
    order = a_draft(supplier=supplied_by(minimum_order_minor=2_000))
    words = "Their smallest order is £20.00: this one is £17.95 short of it."
    assert words in texts(colleague_client.get(reverse("inventory:order", args=[order.pk])))
    assert "below their smallest order" in texts(colleague_client.get(reverse("inventory:order_send", args=[order.pk])))
    assert post(colleague_client, "inventory:order_send", order.pk, seen=order.version).status_code == 302


def test_a_draft_is_dropped_and_written_on_again(colleague_client: Client) -> None:
    order = a_draft()
    post(colleague_client, "inventory:order_drop", order.pk, seen=order.version)
    assert head(order).state == "dropped"
    post(colleague_client, "inventory:order_take_up", order.pk)
    assert head(order).state == "draft"


def receipt(order: Order, counts: dict[OrderLine, str], **typed: Any) -> dict[str, Any]:
    """The form as the page shows it, with counts typed at some lines."""
    form: dict[str, Any] = {"once": once(), "seen": head(order).version, "received_on": "2026-03-02"}
    for line in order.lines.all():  # type: ignore[attr-defined]
        usual = {"count": "", "drawer": "A / 1", "unit_cost": "0.205", "condition": "new"}
        form |= {f"{name}_{line.pk}": value for name, value in usual.items()}
    return form | {f"count_{line.pk}": count for line, count in counts.items()} | typed


def test_several_lines_come_in_at_once_and_in_part(counter_client: Client) -> None:
    order = a_sent_order(
        draft_line(count=10, unit_milli=200_000), draft_line(a_part("1K 1/2W", "resistance"), 100, 1_250), supplier=supplied_by()
    )
    first, second = line_of(order, 0), line_of(order, 1)
    form = receipt(order, {first: "4", second: "100"}, carriage="1.00", shared="on")
    form |= {f"unit_cost_{first.pk}": "2.00", f"unit_cost_{second.pk}": "0.0125", f"date_code_{first.pk}": "2611"}
    address = reverse("inventory:order_receive", args=[order.pk])
    for _ in range(2):
        assert counter_client.post(address, form)["Location"] == reverse("inventory:order", args=[order.pk])
    lots = list(Lot.objects.order_by("pk"))
    assert [(lot.order_line, lot.date_code) for lot in lots] == [(first, "2611"), (second, "")]
    # 1.00 shared over 8.00 and 1.25: 0.86486 and 0.13514, the first over four pieces and the second over a hundred.
    assert [lot.unit_cost_milli for lot in lots] == [200_000 + 21_622, 1_250 + 135]
    shown = texts(counter_client.get(reverse("inventory:order", args=[order.pk])))
    assert "Rest on back order" in shown


def test_the_carriage_stays_out_without_the_tick(colleague_client: Client) -> None:
    order = a_sent_order()
    form = receipt(order, {line_of(order): "4"}, carriage="1.00")
    colleague_client.post(reverse("inventory:order_receive", args=[order.pk]), form)
    assert Lot.objects.get().unit_cost_milli == 20_500


def test_the_cost_is_offered_in_the_shops_money_by_the_rate_of_the_order(colleague_client: Client) -> None:
    yen = supplied_by(currency="JPY", exchange_ppm=5_300, exchange_on=date(2026, 3, 1), carriage_minor=1_200)
    order = a_sent_order(draft_line(count=10, unit_milli=185_500), supplier=yen)
    address = reverse("inventory:order_receive", args=[order.pk])
    form = colleague_client.get(address).context["form"]
    # 185.5 JPY at 0.0053 are 0.98315 GBP; 1,200 JPY of carriage are 6.36 GBP.
    assert form[f"unit_cost_{line_of(order).pk}"].value() == "0.98315"
    assert form["carriage"].value() == "6.36"
    typed = receipt(order, {line_of(order): "10"}, **{f"unit_cost_{line_of(order).pk}": "0.98315"})
    assert colleague_client.post(address, typed).status_code == 302
    assert Lot.objects.get().unit_cost_milli == 98_315


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("count", "0", "The count must be at least 1."),
        ("count", "many", "came as a whole number."),
        ("count", "11", "came and 10 are open. Check the count; if more really came, say why it is kept."),
        ("drawer", "Z / 9", "There is no drawer “Z / 9”."),
        ("drawer", "", "Say which drawer"),
        ("unit_cost", "", "Say what one of"),
        ("unit_cost", "-1", "A cost can't be below zero."),
        ("condition", "shiny", "Select a valid choice."),
    ],
)
def test_a_bad_receipt_is_refused_at_its_line(name: str, value: str, text: str, colleague_client: Client) -> None:
    order = a_sent_order()
    line = line_of(order)
    form = receipt(order, {line: "5"}) | {f"{name}_{line.pk}": value, f"note_{line.pk}": "in the small bag"}
    told = colleague_client.post(reverse("inventory:order_receive", args=[order.pk]), form)
    assert told.status_code == 422
    field = "why_more" if value == "11" else name
    assert text in errors_of(told)[f"{field}_{line.pk}"][0]
    assert "in the small bag" in told.content.decode()
    assert not Lot.objects.exists()


def test_more_comes_in_with_its_reason(colleague_client: Client) -> None:
    order = a_sent_order()
    line = line_of(order)
    form = receipt(order, {line: "11"}) | {f"why_more_{line.pk}": "one thrown in"}
    assert colleague_client.post(reverse("inventory:order_receive", args=[order.pk]), form).status_code == 302
    assert "1 more than ordered" in texts(colleague_client.get(reverse("inventory:order", args=[order.pk])))


def test_of_two_who_receive_one_delivery_the_second_is_told_what_is_open_now(
    colleague_client: Client, counter_client: Client
) -> None:
    order = a_sent_order()
    address = reverse("inventory:order_receive", args=[order.pk])
    mine, theirs = receipt(order, {line_of(order): "6"}), receipt(order, {line_of(order): "6"})
    assert counter_client.post(address, mine).status_code == 302
    told = colleague_client.post(address, theirs)
    assert told.status_code == 422
    assert "Somebody else booked something on this order since you opened it." in texts(told)
    assert "<strong>4 open</strong> of 10" in texts(told)
    assert Lot.objects.count() == 1


def test_nothing_is_received_on_a_draft(colleague_client: Client) -> None:
    order = a_draft()
    answer = colleague_client.get(reverse("inventory:order_receive", args=[order.pk]))
    assert answer["Location"] == reverse("inventory:order", args=[order.pk])


def test_a_rest_is_given_up_with_a_reason_and_waited_for_again(colleague_client: Client) -> None:
    order = a_sent_order()
    line = line_of(order)
    arrive(line, 4)
    address = reverse("inventory:order_line_drop", args=[line.pk])
    assert colleague_client.get(address).context["form"].initial["count"] == 6
    told = colleague_client.post(address, {"once": once(), "seen": head(order).version, "count": "7", "reason": "gone"})
    assert "6 of " in errors_of(told)["count"][0]
    told = colleague_client.post(address, {"once": once(), "seen": 1, "count": "6", "reason": "out of production"})
    assert told.status_code == 422
    assert "out of production" in told.content.decode()
    done = colleague_client.post(
        address, {"once": once(), "seen": head(order).version, "count": "6", "reason": "out of production"}
    )
    assert done.status_code == 302
    assert head(order).state == "closed"
    assert "6 will not come: out of production" in texts(colleague_client.get(reverse("inventory:order", args=[order.pk])))
    post(colleague_client, "inventory:order_line_awaited", line.pk)
    assert head(order).state == "sent"


def test_another_day_is_written_at_the_line(colleague_client: Client) -> None:
    order = a_sent_order()
    address = reverse("inventory:order_line_expected", args=[line_of(order).pk])
    form = {"once": once(), "seen": order.version, "expected_on": "2026-04-20"}
    assert colleague_client.post(address, form).status_code == 302
    assert (line_of(order).expected_on, head(order).expected_on) == (date(2026, 4, 20), date(2026, 4, 20))
    told = colleague_client.post(address, {**form, "once": once(), "expected_on": "2026-04-30"})
    assert told.status_code == 422
    assert ("Expected on", "2026-04-20") in told.context["now"]


def test_page_paper_and_table_give_the_same_sums(colleague_client: Client) -> None:
    supplier = supplied_by(carriage_minor=450, our_number="K 20117", address="3 Tallow Lane\nHexley")
    offer = an_offer(supplier=supplier)
    order = a_sent_order(
        draft_line(offer.part, 110, 22_500, offer=offer, pack_size=10, code=offer.code, needed_on=date(2026, 3, 20)),
        draft_line(a_part("1K 1/2W", "resistance"), 3, 20_500),
        supplier=supplier,
    )
    known = standing_of(order, "GBP", now().date())
    data = order_paper(known, Profile.objects.get())
    assert sum((line.amount for line in data.lines), as_money(0, "GBP")) == data.goods
    assert data.total == data.goods + data.carriage == as_money(2_475 + 62 + 450, "GBP")
    words = " ".join(text_of(paper.draw(data)).split())
    for part in ("B-2026-0001", "K 20117", "FD-473", "11 of 10", "£0.225", "£24.75", "£0.62", "£4.50", "£29.87", "Hexley"):
        assert part in words, part
    page = texts(colleague_client.get(reverse("inventory:order", args=[order.pk])))
    assert "£29.87" in page
    answer = colleague_client.get(reverse("inventory:order_csv", args=[order.pk]))
    assert answer["Content-Disposition"] == 'attachment; filename="order-B-2026-0001.csv"'
    rows = list(read_csv(answer.content))
    assert sum(Decimal(row[6]) for row in rows[1:]) == data.total.amount
    assert rows[1][:6] == ["FD-473", "film 47 nF", "110", "10", "11", "0.22500"]
    assert list(order_rows(known))[-1][1] == "Carriage"


def test_a_code_that_a_spreadsheet_would_run_is_only_text(colleague_client: Client) -> None:
    order = a_draft(draft_line(code="=1+1", text="-2.2 kΩ"))
    raw = colleague_client.get(reverse("inventory:order_csv", args=[order.pk])).content.decode("utf-8-sig")
    assert "'=1+1,'-2.2 kΩ," in raw


def test_a_draft_says_so_on_its_paper(colleague_client: Client) -> None:
    answer = colleague_client.get(reverse("inventory:order_pdf", args=[a_draft().pk]))
    assert "A draft: nothing is ordered by it." in text_of(answer.content)


def test_what_is_on_order_shows_on_the_part_and_late_on_the_day(shop: StillClock, colleague_client: Client) -> None:
    part = a_part()
    a_sent_order(draft_line(part, 40, for_what="J-2026-0012"), supplier=supplied_by(lead_days=3))
    shown = texts(colleague_client.get(reverse("inventory:part", args=[part.pk])))
    assert "<h2>On order</h2>" in shown
    assert "J-2026-0012" in shown
    assert "J-2026-0012" not in texts(colleague_client.get(reverse("today")))
    shop.forward(days=4)
    late = texts(colleague_client.get(reverse("today")))
    assert ">Late from suppliers</h2>" in late
    assert "J-2026-0012" in late


def test_the_list_is_searched_and_narrowed(colleague_client: Client) -> None:
    a_sent_order(draft_line(code="QX-77"), supplier=supplied_by("Tinplate Mews"))
    closed = a_sent_order()
    arrive(line_of(closed), 10)
    address = reverse("inventory:orders")
    assert closed.number not in texts(colleague_client.get(address))
    assert closed.number in texts(colleague_client.get(address, {"show": "all"}))
    assert "Tinplate Mews</td>" in texts(colleague_client.get(address, {"q": "qx-77"}))
    assert "No order answers to this." in texts(colleague_client.get(address, {"q": "nothing such"}))
    assert "B-2026-0001" in texts(colleague_client.get(address, {"q": ".01 630V"}))


@pytest.mark.parametrize("name", ["orders", "order_new", "supplier_bills", "unbilled", "supplier_bill_new"])
def test_an_empty_shop_is_shown_the_first_act(name: str, colleague_client: Client) -> None:
    assert colleague_client.get(reverse(f"inventory:{name}")).status_code == 200


def many(count: int) -> None:
    for n in range(count):
        order = a_sent_order(supplier=supplied_by(f"Supplier {n}"))
        arrive(line_of(order), 4)
        a_draft(supplier=supplied_by(f"Supplier {n}"))


def queries_of(client: Client, address: str, counted: Any) -> int:
    with counted as seen:
        assert client.get(address).status_code == 200
    return len(seen.captured_queries)


@pytest.mark.parametrize("name", ["orders", "supplier_bills", "unbilled"])
def test_a_list_asks_as_often_for_fifty_orders_as_for_one(
    name: str, owner_client: Client, django_assert_max_num_queries: Any
) -> None:
    address = reverse(f"inventory:{name}")
    many(1)
    one = queries_of(owner_client, address, django_assert_max_num_queries(20))
    many(50)
    assert queries_of(owner_client, address, django_assert_max_num_queries(20)) == one


@pytest.mark.parametrize("name", ["order", "order_receive", "order_pdf"])
def test_an_order_asks_as_often_for_fifty_lines_as_for_one(
    name: str, owner_client: Client, django_assert_max_num_queries: Any
) -> None:
    small = a_sent_order()
    big = a_sent_order(*(draft_line(a_part(f"{n + 10}K 1/2W", "resistance")) for n in range(50)))
    for line in big.lines.all():  # type: ignore[attr-defined]
        a_lot(line.part)
    counts = [
        queries_of(owner_client, reverse(f"inventory:{name}", args=[one.pk]), django_assert_max_num_queries(30))
        for one in (small, big)
    ]
    assert abs(counts[0] - counts[1]) <= 1, "the drawers are read only where something lies in one"


def test_old_addresses_lead_somewhere(colleague_client: Client) -> None:
    sent = a_sent_order()
    for name in ("order_line_change",):
        answer = colleague_client.get(reverse(f"inventory:{name}", args=[line_of(sent).pk]))
        assert answer["Location"] == reverse("inventory:order", args=[sent.pk])
    assert colleague_client.get(reverse("inventory:order_line_add", args=[sent.pk])).status_code == 302
    assert colleague_client.get(reverse("inventory:order_send", args=[sent.pk])).status_code == 302
