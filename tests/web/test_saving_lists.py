"""Every list as CSV and as a workbook: all rows in the order and filter in force, plain values, and nothing that runs."""

import csv
import io
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.models import Kind
from jobs.models import Stage
from shop.tabular import STARTS_A_FORMULA, read_csv, read_xlsx
from shop.web import saving
from tests.builders import (
    a_customer,
    a_drawer,
    a_job,
    a_lot,
    a_model,
    a_part,
    a_profile,
    a_set,
    a_supplier,
    an_invoice,
    pay,
    some_work,
)
from tests.inventory.orders import a_bill, a_sent_order, arrive, line_of

pytestmark = pytest.mark.django_db
TEXTS = (
    *("shop:customers", "jobs:list", "jobs:sets"),
    *("inventory:parts", "inventory:lots", "inventory:suppliers", "inventory:movements"),
)


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def content_of(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else bytes(answer.content)


def saved(client: Client, name: str, *args: Any, **asked: Any) -> list[dict[str, str]]:
    """The rows of the CSV, by heading; the workbook must say the same."""
    answer = client.get(reverse(name, args=args), {**asked, "as": "csv"})
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"].startswith("attachment; filename=")
    headings, *rows = list(read_csv(content_of(answer)))
    book = client.get(reverse(name, args=args), {**asked, "as": "xlsx"})
    same, *others = list(read_xlsx(content_of(book)))
    assert [str(cell) for cell in same] == headings
    assert len(others) == len(rows)
    return [dict(zip(headings, row, strict=True)) for row in rows]


def test_all_rows_come_in_the_order_and_filter_of_the_page(owner_client: Client) -> None:
    for number in range(60):
        a_customer(f"Brzask {number:02d}")
    a_customer("Somebody else")
    rows = saved(owner_client, "shop:customers", q="brzask", sort="-name", page="2")
    assert [row["Name"] for row in rows] == [f"Brzask {number:02d}" for number in range(59, -1, -1)]


def test_what_is_remembered_is_not_what_is_saved_by_a_bare_address(owner_client: Client) -> None:
    """The link on the page carries the filter; an address without one asks for all."""
    for name in ("Brzask", "Quill"):
        a_customer(name)
    owner_client.get(reverse("shop:customers"), {"q": "quill"})
    assert 'href="?q=quill&amp;as=csv"' in owner_client.get(reverse("shop:customers")).content.decode()
    assert len(saved(owner_client, "shop:customers")) == 2


def test_jobs_are_saved_as_words_days_and_moments(owner_client: Client) -> None:
    promised = timezone.localdate() + timedelta(days=9)
    job = a_job(radio=a_set(a_customer("Łukasz Brzask"), serial="QX-77"), fault="It hums.", promised_on=promised)
    (row,) = saved(owner_client, "jobs:list")
    assert row["Job"] == job.number
    assert (row["Set"], row["Serial number"], row["Customer"]) == ("Merrowby Kestrel 5", "QX-77", "Łukasz Brzask")
    assert (row["Stage"], row["Promised"], row["Fault as told"]) == ("Taken in", promised.isoformat(), "It hums.")
    taken_in = datetime.fromisoformat(row["Taken in"])
    assert taken_in.tzinfo is not None
    assert taken_in == job.taken_in_at.replace(microsecond=0)


def test_sums_are_plain_decimals_beside_their_currency(owner_client: Client) -> None:
    invoice = an_invoice(a_job(Stage.READY))
    pay(invoice, 34)
    (row,) = saved(owner_client, "billing:invoices")
    assert (Decimal(row["Total"]), row["Currency"]) == (Decimal(invoice.gross_minor) / 100, "GBP")
    assert Decimal(row["Due"]) == Decimal(invoice.gross_minor - 34) / 100
    (money,) = saved(owner_client, "billing:payments")
    assert (money["Received or given back"], money["Moved or let go"], money["Currency"]) == ("0.34", "", "GBP")


def test_a_workbook_keeps_numbers_and_days(owner_client: Client) -> None:
    an_invoice(a_job(Stage.READY))
    headings, row = list(read_xlsx(content_of(owner_client.get(reverse("billing:invoices"), {"as": "xlsx"}))))
    cells = dict(zip(map(str, headings), row, strict=True))
    assert isinstance(cells["Total"], int | float)
    assert isinstance(cells["Issued"], date)


def test_parts_lots_and_drawers(owner_client: Client) -> None:
    part = a_part("0.047 µF 630 V", description="yellow")
    a_lot(part, count=7, drawer=a_drawer("A", "3"), date_code="8452", supplier=a_supplier("Ferrule & Daughters"))
    (row,) = saved(owner_client, "inventory:parts")
    assert (row["Value or type"], row["Words"], row["On hand"], row["Drawers"]) == ("0.047 µF 630 V", "yellow", "7", "A / 3")
    assert row["Currency"] == "GBP"
    (lot,) = saved(owner_client, "inventory:lots", date_code="84")
    assert (lot["Date code"], lot["Supplier"], lot["Drawers"], lot["On hand"]) == ("8452", "Ferrule & Daughters", "A / 3", "7")
    assert Decimal(lot["Cost each"]) > 0
    (drawer,) = saved(owner_client, "inventory:drawers")
    assert (drawer["Drawer"], drawer["What lies there"], drawer["Pieces"]) == ("A / 3", "0.047 µF 630 V", "7")
    (move,) = saved(owner_client, "inventory:movements")
    assert (move["What"], move["Count"], move["Part"]) == ("Received", "7", part.title)


def test_orders_and_suppliers_bills(owner_client: Client) -> None:
    order = a_sent_order()
    arrive(line_of(order), 4)
    bill = a_bill(line_of(order), 4)
    (row,) = saved(owner_client, "inventory:orders", show="all")
    assert (row["Order"], row["Supplier"], row["Currency"]) == (order.number, str(order.supplier), order.currency)
    (paper,) = saved(owner_client, "inventory:supplier_bills")
    assert (paper["Bill"], paper["State"]) == (bill.number, "To be accepted")
    assert Decimal(paper["With tax"]) == Decimal(bill.net_minor + bill.tax_minor) / 100


def test_sets_models_and_labour(owner_client: Client) -> None:
    job = a_job(Stage.REPAIRING, radio=a_set(serial="QX-77", model=a_model()))
    work = some_work(job, 75)
    (radio,) = saved(owner_client, "jobs:sets")
    assert (radio["Set"], radio["Serial number"], radio["Last job"]) == ("Merrowby Kestrel 5", "QX-77", job.number)
    (model,) = saved(owner_client, "jobs:models")
    assert model["Model"] == "Kestrel 5" or model["Model"] == "Merrowby Kestrel 5"
    (row,) = [one for one in saved(owner_client, "jobs:labour_list") if one["Time"] == "75"]
    assert (row["Job"], row["State"], Decimal(row["Comes to"])) == (job.number, "Charged", Decimal(work.amount_minor) / 100)


@pytest.mark.parametrize("start", STARTS_A_FORMULA)
def test_no_text_column_of_a_list_runs_as_a_formula(owner_client: Client, start: str) -> None:
    evil = f"{start}cmd|'/C calc'!A0 " + "x" * 60
    person = a_customer(evil, note=evil, address=evil, phone="=1+1")
    a_job(radio=a_set(person, serial=evil[:60]), fault=evil)
    a_lot(
        a_part("10K 1/2W", Kind.RESISTOR, description=evil[:100]), supplier=a_supplier(evil[:80]), date_code=evil[:40], note=evil
    )
    for name in (
        "shop:customers",
        "jobs:list",
        "jobs:sets",
        "inventory:parts",
        "inventory:lots",
        "inventory:suppliers",
        "inventory:movements",
    ):
        content = content_of(owner_client.get(reverse(name), {"as": "csv"})).decode("utf-8-sig")
        cells = [cell for row in csv.reader(io.StringIO(content, newline="")) for cell in row]
        assert any("calc" in cell for cell in cells), name
        numbers = {str(number) for number in range(-100, 0)}
        assert not [cell for cell in cells if cell.startswith(STARTS_A_FORMULA) and cell not in numbers], name


def test_a_list_larger_than_the_memory_for_it_waits_on_the_disk(owner_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(saving, "IN_MEMORY", 2_000)
    monkeypatch.setattr(saving, "ROWS_AT_ONCE", 7)
    for number in range(40):
        a_customer(f"Brzask {number:02d}", note="A long note. " * 9)
    answer = owner_client.get(reverse("shop:customers"), {"as": "csv"})
    assert answer.streaming
    names = [row[0] for row in read_csv(content_of(answer))][1:]
    assert names == [f"Brzask {number:02d}" for number in range(40)]
    assert len(saved(owner_client, "shop:customers")) == 40


def test_a_file_asks_in_batches_not_a_question_a_row(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    def asked(most: int) -> int:
        with django_assert_max_num_queries(most) as seen:
            saved(owner_client, "inventory:parts")
        return len(seen.captured_queries)

    for number in range(3):
        a_lot(a_part(f"{number + 10}K 1/2W", Kind.RESISTOR), drawer=a_drawer("Q", str(number)))
    few = asked(40)
    for number in range(30):
        a_lot(a_part(f"{number + 100}K 1/2W", Kind.RESISTOR), drawer=a_drawer("R", str(number)))
    assert asked(few) == few


def test_the_file_is_for_whom_the_page_is(colleague_client: Client, stranger_client: Client) -> None:
    a_customer()
    for name in ("shop:customers", "billing:invoices", "billing:payments", "shop:staff"):
        assert colleague_client.get(reverse(name), {"as": "csv"}).status_code == 403
        assert stranger_client.get(reverse(name), {"as": "csv"}).status_code == 302


def test_the_counter_sees_no_cost_of_a_count_in_the_file_either(counter_client: Client, owner_client: Client) -> None:
    a_lot(a_part())
    for client, is_there in ((counter_client, False), (owner_client, True)):
        content = content_of(client.get(reverse("inventory:counts"), {"as": "csv"})).decode("utf-8-sig")
        assert ("At cost" in content) is is_there


def test_an_ending_that_nobody_knows_is_the_page(owner_client: Client) -> None:
    answer = owner_client.get(reverse("shop:customers"), {"as": "exe"})
    assert answer["Content-Type"].startswith("text/html")


def test_a_moment_stands_in_the_shops_time_zone_with_its_offset() -> None:
    at = datetime(2026, 7, 1, 12, 0, 5, 123, tzinfo=timezone.get_current_timezone())
    cell = saving.cell_of(at)
    assert isinstance(cell, datetime)
    assert cell.isoformat() == timezone.localtime(at).replace(microsecond=0).isoformat()
