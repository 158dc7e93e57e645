"""The owner's pages over the whole shop, as they are in a shop that is too large to be counted at every look."""

from dataclasses import replace
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.models import PaymentKind
from shop.clock import now, today
from shop.models import LongWork, Profile
from shop.personal.counted import KEEPING_TIME, clocks_as_counted
from shop.personal.keeping import clocks
from shop.place import rules_of
from shop.tabular import read_csv
from shop.tallies import Counting, count_anew
from shop.views import keeping, pictures
from shop.views.pictured import PICTURES, pictured, pictured_as_counted
from tests.billing.histories import a_bill, book
from tests.builders import a_customer, a_job, a_lot
from tests.conftest import StillClock
from tests.paper.papers import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def large(monkeypatch: pytest.MonkeyPatch, still_clock: StillClock) -> None:
    """The pages take the shop for a large one."""
    for view, name, counting in ((keeping, "KEEPING_TIME", KEEPING_TIME), (pictures, "PICTURES", PICTURES)):
        monkeypatch.setattr(view, name, replace(counting, is_small=lambda: False))


def counted(counting: Counting, **question: str) -> Any:
    return count_anew(counting, question, now())


@pytest.mark.parametrize("page", ["shop:keeping_time", "shop:pictures"])
def test_before_the_first_count_it_says_so_and_counts_when_asked(owner_client: Client, page: str) -> None:
    address = reverse(page)
    assert "This hasn’t been counted yet." in owner_client.get(address).content.decode()
    for _ in range(2):
        assert owner_client.post(address, {"once": "3b8f6f3e-55d4-4be3-8c4e-6d1b7f0f7a11"}).status_code == 302
    assert [one.asked["page"] for one in LongWork.objects.all()] == [page]


@pytest.mark.parametrize("page", ["shop:keeping_time", "shop:pictures"])
def test_nobody_else_counts(colleague_client: Client, page: str) -> None:
    assert colleague_client.post(reverse(page)).status_code == 403


def test_clocks_are_those_of_the_moment_with_the_names_of_today(owner_client: Client) -> None:
    here, gone = a_job("repairing", customer=a_customer("Zdenka Brzask")), a_job("returned", customer=a_customer("Iwo Mill"))
    a_customer("Nobody Yet")
    rules = rules_of(Profile.current())
    live = clocks(today(), rules)
    tally = counted(KEEPING_TIME)
    read = clocks_as_counted(tally.leaves.get().lines)
    assert [(one.customer, one.since_on, one.until_on, one.rule.years, one.why, one.holds) for one in read] == [
        (one.customer, one.since_on, one.until_on, one.rule.years, one.why, one.holds) for one in live
    ]
    assert tally.figures == {"ended": 0, "any": True}
    assert not any(name in str(tally.leaves.get().lines) for name in ("Brzask", "Mill", "Nobody"))
    gone.customer.name = "Iwo Mill-Tarn"
    gone.customer.save()
    text = owner_client.get(reverse("shop:keeping_time")).content.decode()
    assert "Counted" in text
    assert "Iwo Mill-Tarn" in text
    assert f"{here.number}: it stands in the workshop" in text


def test_a_question_of_the_list_is_counted_apart(owner_client: Client) -> None:
    a_job("repairing")
    address = reverse("shop:keeping_time") + "?show=held"
    assert "hasn’t been counted" in owner_client.get(address).content.decode()
    counted(KEEPING_TIME, show="held")
    assert "it stands in the workshop" in owner_client.get(address).content.decode()


def test_pictures_are_the_same_from_what_was_counted(owner_client: Client) -> None:
    book(a_bill(), PaymentKind.PAID, 7_416)
    a_job("ready")
    a_lot()
    live = pictured(12, today(), Profile.current() or Profile())
    read = pictured_as_counted(counted(PICTURES).figures)
    assert replace(live, cabinets=[replace(one, drawers=()) for one in live.cabinets]) == read
    page = owner_client.get(reverse("shop:pictures"))
    assert [one.key for one in page.context["drawn"]] == ["money", "profit", "hours", "stages", "drawers"]
    assert "£60.00" in page.content.decode()
    assert "hasn’t been counted" in owner_client.get(reverse("shop:pictures") + "?months=24").content.decode()


def test_the_paper_of_pictures_is_of_what_was_counted_and_says_when(owner_client: Client) -> None:
    book(a_bill(), PaymentKind.PAID, 7_416)
    counted(PICTURES)
    a_bill()
    paper = owner_client.get(reverse("shop:pictures_pdf"))
    assert "; counted 2 March 2026, " in " ".join(text_of(paper.content).split())
    assert "£60.00" in text_of(paper.content)
    file = owner_client.get(reverse("shop:pictures", query={"table": "money", "as": "csv"}))
    assert list(read_csv(file.content))[-1][1] == "60.00"


@pytest.mark.parametrize(("name", "query"), [("shop:pictures_pdf", {}), ("shop:pictures", {"table": "money", "as": "csv"})])
def test_no_paper_nor_file_of_pictures_before_they_are_counted(owner_client: Client, name: str, query: dict[str, str]) -> None:
    a_job("ready")
    answer = owner_client.get(reverse(name, query={"months": "24", **query}), follow=True)
    assert answer.redirect_chain == [(reverse("shop:pictures") + "?months=24", 302)]
    text = answer.content.decode()
    assert "These months haven’t been counted yet. Count them here; then the paper and the files can be had." in text
    assert "Count now" in text
