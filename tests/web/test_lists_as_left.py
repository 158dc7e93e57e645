"""A list opens as its reader left it: obeyed and remembered when the address asks, said on the page, one press away from all."""

from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from jobs.models import Stage
from shop.kept_filters import LONGEST, keep_filter, kept_filter
from shop.models import KeptFilter, Staff
from shop.web import lists
from tests.builders import a_bench, a_customer, a_job, a_lot, a_part, a_profile, a_set, a_supplier
from tests.house.test_every_page import nothing_written
from tests.inventory.builders import texts
from tests.inventory.orders import a_sent_order

pytestmark = pytest.mark.django_db
JOBS = "jobs:list"
LEFT = "Showing as you left it: "


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def look(client: Client, name: str = JOBS, **asked: Any) -> str:
    return texts(client.get(reverse(name), asked))


def kept(person: Staff, name: str = JOBS) -> str:
    return kept_filter(person, name)


@pytest.fixture
def two_jobs() -> tuple[str, str]:
    """The numbers of a job taken in, and of one that is ready."""
    return a_job(radio=a_set(serial="K1")).number, a_job(Stage.READY, radio=a_set(serial="K2")).number


def test_a_list_opens_as_it_was_left_and_says_so(owner: Staff, owner_client: Client, two_jobs: tuple[str, str]) -> None:
    first, ready = two_jobs
    asked = look(owner_client, q="K2", stage="ready", sort="number")
    assert ready in asked
    assert first not in asked
    assert LEFT not in asked, "what the address says needs no telling"
    page = look(owner_client)
    assert f"{LEFT}“K2”, stage Ready to collect, in your order." in page
    assert ready in page
    assert first not in page
    assert kept(owner) == "q=K2&stage=ready&sort=number"


def test_one_press_shows_all_again_and_forgets(owner: Staff, owner_client: Client, two_jobs: tuple[str, str]) -> None:
    look(owner_client, q="K2")
    assert '<a class="act act-plain act-small" href="?usual=1">All open jobs</a>' in look(owner_client)
    page = look(owner_client, usual="1")
    assert all(number in page for number in two_jobs)
    assert kept(owner) == ""
    assert LEFT not in look(owner_client)


def test_sent_empty_a_form_forgets_too(owner: Staff, owner_client: Client) -> None:
    look(owner_client, q="K2")
    look(owner_client, q="", show="open", stage="", waits_for="", bench="")
    assert kept(owner) == ""
    assert KeptFilter.objects.count() == 0


def test_nobody_gets_the_filter_of_another(owner_client: Client, colleague_client: Client, two_jobs: tuple[str, str]) -> None:
    look(owner_client, q="K2")
    page = look(colleague_client)
    assert LEFT not in page
    assert all(number in page for number in two_jobs)


def test_each_list_has_its_own(owner_client: Client) -> None:
    a_job()
    a_part("0.047 µF 630 V")
    look(owner_client, q="K2")
    assert LEFT not in look(owner_client, "inventory:parts")
    look(owner_client, "inventory:parts", q=".047", show="all", kind="capacitance")
    assert f"{LEFT}“.047”, kind Capacitor, all parts." in look(owner_client, "inventory:parts")
    assert f"{LEFT}“K2”." in look(owner_client)


def test_the_page_of_a_list_is_no_part_of_it(owner: Staff, owner_client: Client) -> None:
    look(owner_client, q="K2", page="3")
    assert kept(owner) == "q=K2"
    look(owner_client, page="2")
    assert kept(owner) == "q=K2"
    assert LEFT not in look(owner_client, page="2"), "a page was asked for, of all jobs"


def test_the_pages_and_the_order_of_a_list_as_left_keep_its_filter(owner_client: Client) -> None:
    for number in range(52):
        a_customer(f"Brzask {number}")
    look(owner_client, "shop:customers", q="brzask")
    page = look(owner_client, "shop:customers")
    assert 'href="?q=brzask&amp;page=after-' in page
    assert 'href="?q=brzask&amp;page=last"' in page
    assert 'href="?q=brzask&amp;as=csv"' in page


class TestWhatCanNoLongerBeRead:
    def test_a_bench_that_is_gone_is_dropped_quietly(self, owner: Staff, owner_client: Client, two_jobs: tuple[str, str]) -> None:
        bench = a_bench("Window bench")
        look(owner_client, bench=bench.pk, q="K")
        assert "bench Window bench" in look(owner_client)
        bench.delete()
        page = look(owner_client)
        assert f"{LEFT}“K”." in page
        assert all(number in page for number in two_jobs)

    @pytest.mark.parametrize("query", ["stage=nonsense", "bench=999", "bench=x", "%00=%00", "q", "&&&", "since=yesterday"])
    def test_nonsense_is_as_if_nothing_was_kept(self, owner: Staff, owner_client: Client, query: str) -> None:
        keep_filter(owner, JOBS, query)
        answer = owner_client.get(reverse(JOBS))
        assert answer.status_code == 200
        assert LEFT not in texts(answer)

    def test_a_choice_without_a_form_is_checked_too(self, owner: Staff, owner_client: Client) -> None:
        keep_filter(owner, "billing:invoices", "shown=burnt")
        assert LEFT not in look(owner_client, "billing:invoices")
        look(owner_client, "billing:invoices", shown="credits", q="R")
        assert f"{LEFT}“R”, Credit notes." in look(owner_client, "billing:invoices")

    def test_what_is_too_long_to_keep_is_not_kept(self, owner: Staff, owner_client: Client) -> None:
        look(owner_client, "shop:customers", q="x" * (LONGEST + 1))
        assert kept(owner, "shop:customers") == ""


class TestLooking:
    """A GET may be sent twice, ahead of time, or by a script: it writes what changed, and once."""

    def test_the_same_question_is_written_once(self, owner_client: Client) -> None:
        look(owner_client, q="K2")
        with nothing_written() as written:
            look(owner_client, q="K2")
            look(owner_client)
        assert written == []

    @pytest.mark.parametrize("header", ["HTTP_SEC_PURPOSE", "HTTP_PURPOSE"])
    def test_a_browser_that_loads_ahead_leaves_no_trace(self, owner: Staff, owner_client: Client, header: str) -> None:
        owner_client.get(reverse(JOBS), {"q": "K2"}, **{header: "prefetch;prerender"})
        look(owner_client, q="K1")
        owner_client.get(reverse(JOBS), {"usual": "1"}, **{header: "prefetch"})
        assert kept(owner) == "q=K1"

    def test_a_script_that_suggests_and_a_file_leave_none(self, owner: Staff, owner_client: Client) -> None:
        owner_client.get(reverse("shop:customer_lookup"), {"q": "br"}, HTTP_HX_REQUEST="true")
        owner_client.get(reverse(JOBS), {"q": "K2", "as": "csv"})
        owner_client.head(reverse(JOBS), {"q": "K2"})
        assert KeptFilter.objects.count() == 0

    def test_a_busy_database_stops_nobody_from_reading(self, owner_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
        def wait(*_: object) -> bool:
            raise OperationalError("database is locked")

        monkeypatch.setattr(lists, "keep_filter", wait)
        assert owner_client.get(reverse(JOBS), {"q": "K2"}).status_code == 200


def test_a_choice_of_rows_is_said_by_its_name(owner_client: Client) -> None:
    supplier = a_supplier("Ferrule & Daughters")
    a_sent_order(supplier=supplier)
    a_lot(a_part())
    look(owner_client, "inventory:orders", supplier=supplier.pk, show="all")
    assert f"{LEFT}supplier Ferrule &amp; Daughters, all orders." in look(owner_client, "inventory:orders")
    look(owner_client, "inventory:movements", since="2026-03-01")
    assert f"{LEFT}from 2026-03-01." in look(owner_client, "inventory:movements")


def test_a_stranger_signs_in_first_and_is_not_remembered(stranger_client: Client) -> None:
    assert stranger_client.get(reverse(JOBS), {"q": "K2"}).status_code == 302
    assert KeptFilter.objects.count() == 0
