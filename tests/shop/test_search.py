"""One search over everything: numbers, names, sets, faults, parts by words and by value, valves, places, names with a slip."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory.models import Kind, Lot
from jobs.models import Stage
from shop.models import Role
from shop.search_text import closeness, compact, fold, pieces
from shop.views.find_papers import Typed, read_number
from shop.views.finds import find
from shop.views.found import LONGEST, Finds
from tests.builders import (
    a_bench,
    a_customer,
    a_drawer,
    a_job,
    a_lot,
    a_model,
    a_part,
    a_profile,
    a_set,
    a_supplier,
    an_estimate,
    an_invoice,
)
from tests.inventory.builders import texts, valves_apart
from tests.inventory.orders import a_bill, a_sent_order, arrive, line_of

pytestmark = pytest.mark.django_db
SCRIPT = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def look(text: str, role: str = Role.OWNER) -> Finds:
    return find(text, role)


def test_a_job_is_found_by_tag_serial_model_customer_and_fault() -> None:
    job = a_job(radio=a_set(a_customer("Łukasz Brzask"), serial="QX-77"), fault="Crackles, and the dial lamp flickers.")
    for text in (job.number, "qx-77", "kestrel", "lukasz", "brzask Łukasz", "merrowby lukasz", "flickers", "lamp brzask"):
        assert look(text).of("jobs") == [job], text


def test_a_customer_is_found_by_name_telephone_and_mail() -> None:
    person = a_customer("Łukasz Brzask", phone="+44 171 496 0007", email="lukasz@brzask.example")
    for text in ("brzask", "0171 4960007", "lukasz@brzask", "BRZASK łukasz"):
        assert look(text).of("customers") == [person], text


def test_a_set_is_found_by_serial_and_model_whoever_owns_it() -> None:
    radio = a_set(a_customer("Łukasz Brzask"), serial="QX-77")
    for text in ("qx-77", "kestrel qx", "kestrel brzask"):
        assert look(text).of("sets") == [radio], text
    assert look("brzask").of("sets") == []


class TestNumbers:
    @pytest.mark.parametrize(
        ("text", "typed"),
        [
            ("J-2026-0041", Typed("J", 2026, 41)),
            ("j 2026 41", Typed("J", 2026, 41)),
            ("J20260041", Typed("J", 2026, 41)),
            ("R24", Typed("R", None, 24)),
            ("r-24", Typed("R", None, 24)),
            ("24", Typed("", None, 24)),
            ("2026-41", Typed("", 2026, 41)),
            ("0041", Typed("", None, 41)),
        ],
    )
    def test_strokes_zeros_series_and_year_may_be_left_out(self, text: str, typed: Typed) -> None:
        assert read_number(text) == typed

    @pytest.mark.parametrize("text", [".047", "4K7", "6V6", "A3", "470p", "0.5", "", "-", "J", "1234567", "٣", "V24"])
    def test_what_is_no_number_of_ours_is_none(self, text: str) -> None:
        assert read_number(text) is None

    def test_a_job_is_found_by_the_figures_alone(self) -> None:
        job, other = a_job(), a_job()
        for text in (job.number, job.number.replace("-", " "), "J1", "1", job.number.removeprefix("J-")):
            assert look(text).of("jobs") == [job], text
        assert look(other.number).of("jobs") == [other]

    def test_an_invoice_is_found_by_its_number_and_its_job(self) -> None:
        invoice = an_invoice(a_job(Stage.READY))
        for text in (invoice.number, invoice.number.replace("-", ""), "R1", "r 1", "1", invoice.job.number):
            assert look(text).of("invoices") == [invoice], text
        assert look("C1").of("invoices") == []

    def test_an_estimate_is_found_by_the_number_of_its_job(self) -> None:
        estimate = an_estimate(a_job())
        assert look(estimate.job.number).of("estimates") == [estimate]

    def test_an_order_and_a_bill_of_a_supplier_are_found(self) -> None:
        order = a_sent_order()
        arrive(line_of(order), 4)
        bill = a_bill(line_of(order), 4)
        for text in (order.number, "B1", order.number.replace("-", " ")):
            assert look(text).of("orders") == [order], text
        for text in (bill.number, bill.number.lower(), compact(bill.number)):
            assert look(text).of("bills") == [bill], text

    def test_the_one_thing_that_has_the_number_is_opened_at_once(self, owner_client: Client) -> None:
        invoice = an_invoice(a_job(Stage.READY))
        paper, job = reverse("billing:invoice", args=[invoice.pk]), reverse("jobs:job", args=[invoice.job_id])
        for text, address in (("R1", paper), (invoice.number, paper), (invoice.job.number, job), ("J1", "")):
            answer = owner_client.get(reverse("search"), {"q": text})
            assert answer.headers.get("Location", "") == (address or job), text

    def test_a_number_that_may_be_two_things_is_shown(self, owner_client: Client) -> None:
        an_invoice(a_job(Stage.READY))
        assert owner_client.get(reverse("search"), {"q": "1"}).status_code == 200

    def test_nobody_is_sent_where_they_may_not_go(self, colleague_client: Client) -> None:
        invoice = an_invoice(a_job(Stage.READY))
        assert colleague_client.get(reverse("search"), {"q": invoice.number}).status_code == 200

    def test_while_typing_nothing_is_opened(self, owner_client: Client) -> None:
        job = a_job()
        piece = owner_client.get(reverse("search"), {"q": job.number}, **SCRIPT)
        assert piece.status_code == 200
        assert reverse("jobs:job", args=[job.pk]) in piece.content.decode()
        assert "<html" not in piece.content.decode()


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [(".047", "film"), ("47n", "film"), ("4K7", "resistor"), ("470p", "mica"), ("12sk7", "valve"), ("film", "film")],
)
def test_parts_are_found_by_value_and_by_words(typed: str, wanted: str) -> None:
    shelf = {
        "film": a_part("0.047 µF 630 V"),
        "mica": a_part("470 pF 500 V", technology="mica"),
        "resistor": a_part("4.7 kΩ 1/2 W", Kind.RESISTOR),
        "valve": a_part("12SK7", Kind.VALVE),
    }
    assert look(typed).of("parts") == [shelf[wanted]]


class TestValves:
    def test_another_name_of_the_same_valve_is_found(self) -> None:
        """6BQ5 and EL84 name one valve: common practice, no source."""
        valve = a_part("6BQ5", Kind.VALVE)
        found = look("EL84")
        assert found.of("valves") == [valve]
        assert found.groups[0].hits[0].words.startswith("the same valve as EL84")

    @pytest.mark.parametrize("text", ["6V6", "6v6gt", "6V6-GT", "6v6 gt"])
    def test_an_envelope_may_be_left_out_or_written_otherwise(self, text: str) -> None:
        valve = a_part("6V6-GT", Kind.VALVE)
        found = look(text)
        assert [*found.of("parts"), *found.of("valves")] == [valve]

    def test_a_figure_within_another_type_is_not_that_type(self) -> None:
        rectifier = a_part("80", Kind.VALVE)
        a_part("EABC80", Kind.VALVE)
        assert look("5Y3-GT").of("valves") == [rectifier]

    def test_a_valve_kept_by_itself_is_found_by_its_mark(self) -> None:
        lot = a_lot(a_part("12SK7", Kind.VALVE))
        valve = Lot.objects.get(pk=valves_apart(lot, a_job().taken_in_by)["valve"])
        assert look(valve.mark.lower()).of("lots") == [valve]


def test_drawers_lots_suppliers_and_benches_are_found() -> None:
    drawer, supplier, bench = a_drawer("A", "3"), a_supplier("Příčka & Daughters"), a_bench("Window bench")
    a_drawer("B", "3")
    lot = a_lot(a_part(), date_code="8452", supplier=supplier)
    for text in ("A3", "a 3", "a/3"):
        assert look(text).of("drawers") == [drawer], text
    assert look("8452").of("lots") == [lot]
    assert look("pricka").of("suppliers") == [supplier]
    assert look("bench window").of("benches") == [bench]


def test_a_date_code_of_letters_alone_is_found_in_whole() -> None:
    lot = a_lot(a_part(), date_code="KLB")
    assert look("klb").of("lots") == [lot]
    assert look("lbx").of("lots") == []


class TestSlips:
    @pytest.mark.parametrize("text", ["brzaks", "bzrask", "lukas brzsk", "Łukazs"])
    def test_a_name_with_a_slip_is_found_and_marked(self, text: str, owner_client: Client) -> None:
        person = a_customer("Łukasz Brzask")
        a_customer("Żaneta Mgła")
        found = look(text)
        assert [(group.kind, group.is_close) for group in found.groups] == [("customers", True)]
        assert found.of("customers") == [person]
        assert f"close to “{text}”" in texts(owner_client.get(reverse("search"), {"q": text}))

    def test_a_model_with_a_slip_is_found(self) -> None:
        model = a_model()
        for text in ("kestral", "merowby kestrl"):
            assert look(text).of("models") == [model], text

    def test_what_shares_nothing_is_not_close(self) -> None:
        a_customer("Łukasz Brzask")
        assert look("quillfeather").count == 0

    def test_it_costs_as_many_questions_for_many_names_as_for_one(self, django_assert_max_num_queries: Any) -> None:
        a_customer("Łukasz Brzask")
        with django_assert_max_num_queries(40) as one:
            look("brzaks")
        for n in range(60):
            a_customer(f"Brzask {n}")
        with django_assert_max_num_queries(len(one.captured_queries)):
            assert len(look("brzaks").of("customers")) == LONGEST

    @given(st.text(max_size=40), st.text(max_size=40))
    def test_closeness_is_a_share_whatever_is_compared(self, words: str, key: str) -> None:
        assert 0.0 <= closeness(fold(words).split(), fold(key)) <= 1.0
        assert len(pieces(fold(words))) <= 14


def test_a_model_is_found() -> None:
    model = a_model()
    assert look("kestrel 5").of("models") == [model]


def test_the_page_says_how_a_value_was_read(owner_client: Client) -> None:
    a_lot(a_part("0.047 µF 630 V"), count=7)
    page = texts(owner_client.get(reverse("search"), {"q": ".047"}))
    assert "for parts also read as 47 nF" in page
    assert "7 in the drawers" in page


@pytest.mark.parametrize(
    "text", ["", "   ", "%", "_", "'; DROP TABLE", "9" * 300, "\x00", "µ" * 90, "((((", "٣", "a b c d " * 40, "¨" * 80]
)
def test_strange_text_is_answered_with_a_page(text: str, owner_client: Client) -> None:
    for more in ({}, SCRIPT):
        assert owner_client.get(reverse("search"), {"q": text}, **more).status_code == 200


@pytest.mark.parametrize("name", ["shop:customers", "inventory:parts", "inventory:receive", "inventory:movements", "jobs:list"])
def test_strange_text_in_a_list_is_answered_too(name: str, owner_client: Client) -> None:
    assert owner_client.get(reverse(name), {"q": "a\x00b"}).status_code == 200


def test_nothing_asked_and_nothing_found_are_told_apart(owner_client: Client) -> None:
    assert "Search the whole workshop" in texts(owner_client.get(reverse("search")))
    page = texts(owner_client.get(reverse("search"), {"q": "zzzz"}))
    assert "Nothing found" in page
    assert "What can be typed" in page


def test_more_than_a_page_holds_is_counted_and_leads_to_the_list(owner_client: Client) -> None:
    for n in range(LONGEST + 2):
        a_customer(f"Brzask {n}")
    page = texts(owner_client.get(reverse("search"), {"q": "brzask"}))
    assert f'<a href="{reverse("shop:customers")}?q=brzask">All {LONGEST + 2}' in page
    piece = texts(owner_client.get(reverse("search"), {"q": "brzask"}, **SCRIPT))
    assert piece.count("<li>") == 4


def test_the_bench_is_led_to_no_page_it_may_not_open(colleague_client: Client) -> None:
    invoice = an_invoice(a_job(Stage.READY))
    page = colleague_client.get(reverse("search"), {"q": invoice.job.number.removeprefix("J-")}, follow=True).content.decode()
    assert reverse("billing:invoice", args=[invoice.pk]) not in page
    for more in ({}, SCRIPT):
        customers = colleague_client.get(reverse("search"), {"q": "brzask"}, **more).content.decode()
        assert reverse("shop:customer", args=[invoice.customer_id]) not in customers
        assert invoice.customer.name in customers


def test_a_stranger_signs_in_first(stranger_client: Client) -> None:
    assert stranger_client.get(reverse("search"), {"q": "x"})["Location"].startswith(reverse("login"))


def queries(client: Client, counted: Any) -> int:
    with counted as seen:
        assert client.get(reverse("search"), {"q": "brzask"}).status_code == 200
    return len(seen.captured_queries)


def test_the_page_asks_as_often_for_many_finds_as_for_one(owner_client: Client, django_assert_max_num_queries: Any) -> None:
    """But for one count of every kind of which there is more than the page holds."""

    def fill(count: int) -> None:
        for n in range(count):
            a_job(customer=None, radio=a_set(a_customer(f"Brzask {n}-{count}"), serial=f"{count}-{n}"))
            a_lot(a_part(f"{n + 10}K 1/{count + 1} W", Kind.RESISTOR, description="brzask"))

    fill(3)
    few = queries(owner_client, django_assert_max_num_queries(25))
    fill(LONGEST)
    assert queries(owner_client, django_assert_max_num_queries(28)) == few + 3
