"""Every page of the drawers: opens for those it serves, refuses the others, and asks as often for many rows as for one."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Kind, Lot, Offer, Supplier
from inventory.services.bad_lots import Finding, find_bad
from inventory.urls import urlpatterns
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.filled_once import filled_once
from tests.inventory.builders import valves_apart
from tests.inventory.list_files import a_price_list
from tests.inventory.orders import a_bill, a_draft, a_sent_order, arrive, line_of
from tests.jobs.bad_lots import a_supplier_claim

PAGES = [
    ("parts", ()),
    ("part", ("part",)),
    ("part_new", ()),
    ("part_change", ("part",)),
    ("drawers", ()),
    ("fullness", ()),
    ("drawer_codes", ()),
    ("drawer", ("drawer",)),
    ("drawer_new", ()),
    ("drawer_change", ("drawer",)),
    ("receive", ()),
    ("lot", ("lot",)),
    ("lot_label", ("lot",)),
    ("count", ("lot", "drawer")),
    ("transfer", ("lot", "drawer")),
    ("scrap", ("lot", "drawer")),
    ("send_back", ("lot", "drawer")),
    ("suppliers", ()),
    ("supplier_new", ()),
    ("supplier_change", ("supplier",)),
    ("lots", ()),
    ("movements", ()),
    ("labels", ()),
    ("labels_pdf", ()),
    ("bag_labels_pdf", ()),
    ("part_lookup", ()),
    ("make_up", ()),
    ("colours", ()),
    ("price_lists", ("supplier",)),
    ("price_list_new", ("supplier",)),
    ("price_list_progress", ("supplier",)),
    ("price_list", ("price_list",)),
    ("price_list_rejects", ("price_list",)),
    ("offers", ("supplier",)),
    ("offer", ("offer",)),
    ("stock_value", ()),
    ("stock_value_csv", ()),
    ("stock_value_xlsx", ()),
    ("stock_turns", ()),
    ("dead_stock", ()),
    ("write_down", ("lot",)),
    ("near", ()),
    ("valves", ()),
    ("match", ()),
    ("tester_new", ()),
    ("tester_change", ("tester",)),
    ("set_apart", ("lot", "drawer")),
    ("valve_test", ("valve",)),
    ("part_set", ("matched",)),
    ("lot_photos", ("lot",)),
    ("lot_photo", ("photo",)),
    ("lot_photo_small", ("photo",)),
    ("counts", ()),
    ("counting", ("counting",)),
    ("orders", ()),
    ("order_new", ()),
    ("order", ("sent",)),
    ("order_line_add", ("draft",)),
    ("order_send", ("draft",)),
    ("order_receive", ("sent",)),
    ("order_pdf", ("sent",)),
    ("order_csv", ("draft",)),
    ("order_line_change", ("draft_line",)),
    ("order_line_drop", ("sent_line",)),
    ("order_line_expected", ("sent_line",)),
    ("supplier_bills", ()),
    ("supplier_bill_new", ()),
    ("unbilled", ()),
    ("supplier_bill", ("bill",)),
    ("supplier_bill_change", ("bill",)),
    ("bad_lot_new", ("lot",)),
    ("bad_lot_lift", ("bad",)),
    ("supplier_claims", ()),
    ("supplier_claim_new", ("lot",)),
    *((f"supplier_claim{page}", ("claim",)) for page in ("", "_pdf", "_back", "_credit", "_replaced", "_refused", "_dropped")),
]
# Without a file that waits they send to the lists; test_price_lists.py walks them with one.
WAITING = {"price_list_columns", "price_list_trial", "price_list_trial_rejects"}
OWNER_ONLY = {"stock_value", "stock_value_csv", "stock_value_xlsx", "stock_turns", "dead_stock", "write_down"}
BENCH_ONLY = {
    *("bad_lot_new", "bad_lot_lift"),
    *("match", "tester_new", "tester_change", "set_apart", "valve_test", "part_set"),
    "part_new",
    "part_change",
    "drawer_new",
    "drawer_change",
    "count",
    "transfer",
    "scrap",
    "send_back",
}
POSTED = {
    *("price_list_leave", "price_list_stop", "offers_link", "offer_link"),
    *("count_begin", "count_enter", "count_found", "count_book", "count_again", "count_drop", "cabinet_face"),
    *("order_head", "order_drop", "order_take_up", "order_line_remove", "order_line_awaited"),
    *("supplier_bill_accept", "supplier_bill_remove"),
    *("supplier_claim_again", "supplier_claim_no_credit"),
    "hold_let_go",
    "block",
    "unblock",
}


Filled = tuple[dict[str, int], Path]


@pytest.fixture(scope="module")
def filled(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Filled]:
    photos = tmp_path_factory.mktemp("photos")
    with filled_once(django_db_blocker, photos):
        yield _fill(), photos


@pytest.fixture
def there(filled: Filled, db: None, settings: Any) -> dict[str, int]:
    """A part in a drawer, a hold on it, a supplier, orders to them and a bill."""
    known, settings.MEDIA_ROOT = filled
    return known


def _fill() -> dict[str, int]:
    a_profile()
    drawer, supplier = a_drawer(), a_supplier()
    lot = a_lot(a_part(), drawer=drawer, supplier=supplier)
    services.hold(lot, drawer, 2, reference="J-2026-0001", person=a_staff(), at=now())
    counting = services.open_count(drawer, person=a_staff(), at=now())
    valves = valves_apart(a_lot(a_part("12SK7", "valve"), drawer=a_drawer("V", "1")), a_staff())
    ordered = {
        "part": lot.part_id,
        "drawer": drawer.pk,
        "lot": lot.pk,
        "counting": counting.pk,
        **valves,
        "supplier": supplier.pk,
    }
    ordered["price_list"] = a_price_list(supplier, a_staff()).pk
    ordered["claim"] = a_supplier_claim(lot).pk
    ordered["bad"] = find_bad(a_lot(), Finding("leaks"), person=a_staff(), at=now()).pk
    ordered["offer"] = Offer.objects.get(code="EL84").pk
    return ordered | _orders(supplier)


def _orders(supplier: Supplier) -> dict[str, int]:
    draft, sent = a_draft(supplier=supplier), a_sent_order(supplier=supplier)
    arrive(line_of(sent), 4)
    bill = a_bill(line_of(sent), 4)
    return {
        "draft": draft.pk,
        "sent": sent.pk,
        "draft_line": line_of(draft).pk,
        "sent_line": line_of(sent).pk,
        "bill": bill.pk,
    }


def address(name: str, wanted: tuple[str, ...], there: dict[str, int]) -> str:
    queries = {
        "labels_pdf": f"?drawer={there['drawer']}&sheet=a4-24",
        "bag_labels_pdf": f"?day={Lot.objects.get(pk=there['lot']).received_on}&sheet=a4-21",
    }
    return reverse(f"inventory:{name}", args=[there[key] for key in wanted]) + queries.get(name, "")


def test_this_walk_knows_every_address() -> None:
    assert {name for name, _ in PAGES} | POSTED | WAITING == {str(pattern.name) for pattern in urlpatterns}


@pytest.mark.parametrize(("name", "wanted"), PAGES)
def test_an_owner_may_open_it(name: str, wanted: tuple[str, ...], there: dict[str, int], owner_client: Client) -> None:
    assert owner_client.get(address(name, wanted, there)).status_code == 200


@pytest.mark.looks
@pytest.mark.parametrize(("name", "wanted"), PAGES)
def test_a_stranger_signs_in_first(name: str, wanted: tuple[str, ...], there: dict[str, int], stranger_client: Client) -> None:
    answer = stranger_client.get(address(name, wanted, there))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


@pytest.mark.looks
@pytest.mark.parametrize(("name", "wanted"), PAGES)
def test_the_counter_reads_and_receives_and_leaves_the_rest_to_the_bench(
    name: str, wanted: tuple[str, ...], there: dict[str, int], counter_client: Client
) -> None:
    assert counter_client.get(address(name, wanted, there)).status_code == (403 if name in BENCH_ONLY | OWNER_ONLY else 200)


@pytest.mark.parametrize("name", ["block", "unblock"])
def test_only_the_owner_blocks_a_lot(name: str, there: dict[str, int], colleague_client: Client) -> None:
    assert colleague_client.post(reverse(f"inventory:{name}", args=[there["lot"]]), {"reason": "fakes"}).status_code == 403


@pytest.mark.parametrize("name", ["block", "unblock", "hold_let_go"])
def test_what_changes_something_is_never_a_link(name: str, there: dict[str, int], owner_client: Client) -> None:
    assert owner_client.get(reverse(f"inventory:{name}", args=[1])).status_code == 405


@pytest.mark.parametrize("name", ["part", "lot", "drawer", "part_change", "supplier_change", "lot_label"])
def test_what_was_never_written_down_has_no_page(name: str, there: dict[str, int], owner_client: Client) -> None:
    assert owner_client.get(reverse(f"inventory:{name}", args=[10**18])).status_code == 404


def many(count: int) -> None:
    """Parts with two lots each in two drawers each."""
    moment = now() - timedelta(minutes=5)
    for n in range(count):
        part = a_part(f"{n + 10}K 1/2W", Kind.RESISTOR)
        first = a_drawer("Q", str(n))
        for _ in range(2):
            lot = a_lot(part, drawer=first, at=moment, supplier=a_supplier(f"Supplier {n}"))
            services.transfer(lot, first, a_drawer("R", str(n)), 3, person=a_staff(), at=moment)


def queries_of(client: Client, url: str, counted: Any) -> int:
    with counted as seen:
        assert client.get(url).status_code == 200
    return len(seen.captured_queries)


@pytest.mark.parametrize("name", ["parts", "drawers", "suppliers", "movements", "labels"])
def test_a_list_asks_as_often_for_fifty_rows_as_for_one(
    name: str, there: dict[str, int], owner_client: Client, django_assert_max_num_queries: Any
) -> None:
    url = reverse(f"inventory:{name}")
    one = queries_of(owner_client, url, django_assert_max_num_queries(20))
    many(50)
    assert queries_of(owner_client, url, django_assert_max_num_queries(20)) == one


def test_a_part_asks_as_often_for_fifty_lots_as_for_one(
    there: dict[str, int], owner_client: Client, django_assert_max_num_queries: Any
) -> None:
    part = a_part("100 pF 500 V", technology="mica")
    a_lot(part)
    url = reverse("inventory:part", args=[part.pk])
    one = queries_of(owner_client, url, django_assert_max_num_queries(20))
    for n in range(50):
        a_lot(part, drawer=a_drawer("S", str(n)), supplier=a_supplier(f"Supplier {n}"))
    assert queries_of(owner_client, url, django_assert_max_num_queries(20)) == one
