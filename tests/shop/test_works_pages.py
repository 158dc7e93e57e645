"""The pages of long work: started from where the papers are, shown with how far it got, stopped, taken."""

import zipfile
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from billing.models import Invoice
from inventory.models import Drawer
from jobs.models import Stage
from shop import long_work
from shop.clock import now
from shop.long_work import Asked, begin
from shop.models import LongWork, Staff, WorkState
from tests import builders as make
from tests.conftest import StillClock, signed_in

pytestmark = pytest.mark.django_db
ROOT = "http://testserver"


@pytest.fixture(autouse=True)
def _clock(still_clock: StillClock) -> None:
    pass


def send(client: Client, name: str, key: object = None, **typed: Any) -> Any:
    address = reverse(f"shop:{name}", args=[key] if key else [])
    return client.post(address, {"once": str(uuid4()), **typed}, follow=True)


def a_work(person: Staff, state: str = WorkState.RUNNING, **facts: Any) -> LongWork:
    work = begin(Asked("tags", "Tags of all open jobs", {"root": ROOT}), person=person, at=now(), back="/jobs/")
    LongWork.objects.filter(pk=work.pk).update(state=state, heard_at=now(), **facts)
    work.refresh_from_db()
    return work


def made(client: Client, name: str, **typed: Any) -> tuple[LongWork, bytes]:
    """Started from a page, run, and its file taken by the same person."""
    assert send(client, name, **typed).status_code == 200
    long_work.run_waiting()
    work = LongWork.objects.get()
    assert work.state == WorkState.DONE, work.message
    answer = client.get(reverse("shop:work_file", args=[work.key]))
    assert work.result_name in answer.headers["Content-Disposition"]
    assert answer.headers["Cache-Control"] == "private, no-store"
    return work, answer.getvalue()  # type: ignore[attr-defined]


def texts(content: bytes) -> dict[str, str]:
    """The text of every paper in a zip file, by its name."""
    with zipfile.ZipFile(BytesIO(content)) as archive:
        assert archive.testzip() is None
        return {name: text_of(archive.read(name)) for name in archive.namelist()}


def text_of(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages)


class TestManyPapers:
    def test_the_papers_of_a_period_come_as_they_were_issued(self, owner: Staff, still_clock: StillClock) -> None:
        first = make.an_invoice(make.a_job(Stage.READY), person=owner)
        still_clock.forward(days=40)
        second = make.an_invoice(make.a_job(Stage.READY), person=owner)
        work, content = made(signed_in(owner), "work_papers", period=f"{first.issued_on:%Y-%m}", next="/money/books/papers/")
        assert work.message == "1 paper from 01 March 2026 to 31 March 2026, each as it was issued."
        assert (work.back, work.result_name) == ("/money/books/papers/", "papers-2026-03.zip")
        (name, text), *rest = texts(content).items()
        assert (name, rest) == (f"{first.number}.pdf", [])
        assert first.number in text
        assert second.number not in text

    def test_any_two_days_are_a_period_too(self, owner: Staff) -> None:
        make.an_invoice(make.a_job(Stage.READY), person=owner)
        work, content = made(signed_in(owner), "work_papers", first="2026-01-01", last="2026-12-31")
        assert len(texts(content)) == Invoice.objects.count() == 1
        assert work.title == "Papers of 2026-01-01 to 2026-12-31"

    @pytest.mark.parametrize(
        "typed", [{}, {"period": "2026-13"}, {"first": "2026-03-01"}, {"first": "2026-03-02", "last": "2026-03-01"}]
    )
    def test_what_is_no_period_is_refused_in_words(self, owner_client: Client, typed: dict[str, str]) -> None:
        answer = send(owner_client, "work_papers", **typed)
        assert answer.status_code == 409
        assert "Choose a period, or two days, on the page of the books" in answer.content.decode()
        assert not LongWork.objects.exists()

    def test_everybody_who_owes_gets_a_statement_and_nobody_else(self, counter: Staff) -> None:
        owing = make.an_invoice(make.a_job(Stage.READY, customer=make.a_customer("Wilma Ostrander")), person=counter)
        paid = make.an_invoice(make.a_job(Stage.READY, customer=make.a_customer("Paul Settled")), person=counter)
        make.pay(paid, person=counter)
        work, content = made(signed_in(counter), "work_statements")
        assert work.message == "1 statement as of 02 March 2026."
        ((_, text),) = texts(content).items()
        assert "Wilma Ostrander" in text
        assert owing.number in text

    def test_tags_of_open_jobs_are_one_pdf_with_a_page_each(self, colleague: Staff) -> None:
        jobs = [make.a_job(), make.a_job(Stage.INSPECTING)]
        closed = make.a_job(Stage.HANDED_OVER)
        work, content = made(signed_in(colleague), "work_tags")
        pages = PdfReader(BytesIO(content)).pages
        assert len(pages) == 2
        assert [job.number in page.extract_text() for job, page in zip(jobs, pages, strict=True)] == [True, True]
        assert closed.number not in text_of(content)
        assert work.message == "Tags of 2 open jobs, one a page."

    def test_claim_checks_of_open_jobs(self, counter: Staff) -> None:
        job = make.a_job()
        _, content = made(signed_in(counter), "work_claim_checks")
        assert list(texts(content)) == [f"claim-check-{job.number}.pdf"]

    def test_labels_of_one_cabinet_and_of_all(self, counter: Staff) -> None:
        for cabinet, tray in (("A", "1"), ("A", "2"), ("B", "1")):
            make.a_drawer(cabinet, tray)
        work, content = made(signed_in(counter), "work_labels", cabinet="A", sheet="a4-24", used_up="23")
        assert (work.message, work.title) == ("2 labels of cabinet A.", "Labels of cabinet A")
        assert len(PdfReader(BytesIO(content)).pages) == 2, "one place was left on the first sheet"
        LongWork.objects.all().delete()
        work, content = made(signed_in(counter), "work_labels", cabinet="", sheet="a4-24")
        assert work.total == Drawer.objects.count() == 3

    @pytest.mark.parametrize(
        ("typed", "told"),
        [
            ({"cabinet": "no such\0"}, "There is no such cabinet any more. Choose one from the list"),
            ({"sheet": "a3-7"}, "Choose the sheet of labels from the list"),
        ],
    )
    def test_labels_of_what_is_not_there_are_refused(self, counter_client: Client, typed: dict[str, str], told: str) -> None:
        answer = send(counter_client, "work_labels", **{"cabinet": "", "sheet": "a4-24", **typed})
        assert answer.status_code == 409
        assert told in answer.content.decode()

    def test_where_there_is_nothing_to_draw_it_says_so(self, owner: Staff) -> None:
        make.a_profile()
        client = signed_in(owner)
        for name, typed in (
            ("work_papers", {"period": "2020"}),
            ("work_statements", {}),
            ("work_tags", {}),
            ("work_labels", {"sheet": "a4-24"}),
        ):
            send(client, name, **typed)
        long_work.run_waiting()
        assert [work.message.partition(",")[0] for work in LongWork.objects.order_by("pk")] == [
            "No paper was issued in this period",
            "Nobody owed anything on that day",
            "No set stands in the workshop",
            "There is no drawer to draw a label of. Make drawers first.",
        ]

    def test_a_form_sent_twice_begins_one_work(self, counter_client: Client) -> None:
        typed = {"once": str(uuid4())}
        for _ in range(2):
            counter_client.post(reverse("shop:work_tags"), typed)
        assert LongWork.objects.count() == 1

    @pytest.mark.parametrize(
        ("who", "name"), [("colleague", "work_papers"), ("counter", "work_papers"), ("colleague", "work_statements")]
    )
    def test_a_stranger_to_the_money_may_not_draw_it(self, request: pytest.FixtureRequest, who: str, name: str) -> None:
        assert send(signed_in(request.getfixturevalue(who)), name, period="2026").status_code == 403
        assert not LongWork.objects.exists()


class TestTheList:
    def test_shows_how_far_each_got_with_a_button_to_stop_it(self, counter: Staff) -> None:
        work = a_work(counter, done=2, total=40)
        page = signed_in(counter).get(reverse("shop:works")).content.decode()
        assert "2 of 40 tags drawn" in page
        assert '<progress value="2" max="40"' in page
        assert reverse("shop:work_stop", args=[work.key]) in page
        assert '<noscript><meta http-equiv="refresh" content="6"></noscript>' in page

    def test_a_stop_is_asked_for_once(self, counter: Staff) -> None:
        client, work = signed_in(counter), a_work(counter)
        page = send(client, "work_stop", work.key).content.decode()
        assert "“Tags of all open jobs” is asked to stop; it does so at its next step." in page
        assert "Stopping" in page
        work.refresh_from_db()
        assert work.stop_asked

    def test_what_died_with_its_process_is_told_as_failed_and_can_be_started_again(self, counter: Staff) -> None:
        client, work = signed_in(counter), a_work(counter)
        LongWork.objects.update(heard_at=now() - timedelta(minutes=5))
        page = client.get(reverse("shop:works")).content.decode()
        assert "The program was stopped while this was under way. Start it again." in page
        send(client, "work_again", work.key)
        assert list(LongWork.objects.order_by("pk").values_list("state", flat=True)) == [WorkState.FAILED, WorkState.WAITING]

    def test_mine_are_nobody_elses_but_the_owner_sees_all(self, counter: Staff, colleague: Staff, owner: Staff) -> None:
        work = a_work(counter)
        for who, seen in ((counter, True), (colleague, False), (owner, True)):
            page = signed_in(who).get(reverse("shop:works")).content.decode()
            assert (str(work.key) in page) is seen

    @pytest.mark.parametrize("name", ["work_stop", "work_again"])
    def test_a_colleague_can_touch_no_work_of_mine(self, counter: Staff, colleague: Staff, name: str) -> None:
        work = a_work(counter)
        answer = send(signed_in(colleague), name, work.key)
        assert answer.status_code == 409
        assert "There is no such work of yours any more." in answer.content.decode()
        assert LongWork.objects.get().stop_asked is False

    def test_a_colleague_gets_no_file_of_mine_and_the_owner_does(self, counter: Staff, colleague: Staff, owner: Staff) -> None:
        make.a_job()
        work, _ = made(signed_in(counter), "work_tags")
        address = reverse("shop:work_file", args=[work.key])
        assert signed_in(colleague).get(address).status_code == 409
        assert signed_in(owner).get(address).status_code == 200
        assert Client().get(address).headers["Location"].startswith(reverse("login"))

    def test_a_file_that_is_gone_is_told_in_words(self, counter: Staff) -> None:
        work = a_work(counter, WorkState.DONE)
        answer = signed_in(counter).get(reverse("shop:work_file", args=[work.key]))
        assert answer.status_code == 409
        assert "The file is no longer kept: that is for 7 days only." in answer.content.decode()

    def test_an_empty_list_teaches_what_it_is_for(self, counter_client: Client) -> None:
        page = counter_client.get(reverse("shop:works")).content.decode()
        assert "Nothing was asked for yet" in page

    def test_a_row_that_came_to_its_end_asks_no_more(self, counter: Staff) -> None:
        client, work = signed_in(counter), a_work(counter)
        address = reverse("shop:work_row", args=[work.key])
        assert 'hx-trigger="every 2s"' in client.get(address).content.decode()
        LongWork.objects.update(state=WorkState.DONE, message="Tags of 2 open jobs, one a page.")
        row = client.get(address).content.decode()
        assert "hx-trigger" not in row
        assert 'hx-swap-oob="innerHTML">Tags of all open jobs: Done. Tags of 2 open jobs, one a page.</p>' in row


class TestTheLineInTheHead:
    def test_who_started_nothing_pays_no_query(self, counter: Staff, django_assert_num_queries: DjangoAssertNumQueries) -> None:
        a_work(counter)
        client = signed_in(counter)
        page = reverse("shop:customer_new")
        client.get(page)
        with django_assert_num_queries(4):  # the session, the person, the place where they are signed in, the shop
            assert "work-line" not in client.get(page).content.decode()

    def test_tells_how_far_it_got_until_the_works_were_looked_at(self, counter: Staff) -> None:
        client = signed_in(counter)
        send(client, "work_tags")
        LongWork.objects.update(state=WorkState.RUNNING, heard_at=now(), done=2, total=40)
        page = reverse("shop:customer_new")
        assert "Tags of all open jobs: 2 of 40 tags drawn" in client.get(page).content.decode()
        LongWork.objects.update(state=WorkState.DONE, message="Done.")
        assert "Tags of all open jobs: Done" in client.get(page).content.decode()
        client.get(reverse("shop:works"))
        assert "work-line" not in client.get(page).content.decode()

    def test_tells_nothing_of_what_came_to_its_end_before_the_persons_eyes(self, counter: Staff) -> None:
        client = signed_in(counter)
        send(client, "work_tags")
        LongWork.objects.update(state=WorkState.DONE)
        client.get(reverse("shop:work_row", args=[LongWork.objects.get().key]))
        assert "work-line" not in client.get(reverse("shop:customer_new")).content.decode()

    def test_is_asked_for_again_only_while_something_is_under_way(self, counter: Staff) -> None:
        """286 tells the script to stop asking (htmx reference, polling)."""
        client = signed_in(counter)
        send(client, "work_tags")
        line, asked = reverse("shop:work_line"), {"HX-Request": "true"}
        assert client.get(line, headers=asked).status_code == 200
        LongWork.objects.update(state=WorkState.STOPPED)
        assert client.get(line, headers=asked).status_code == 286
        assert client.get(line).headers["Location"] == reverse("shop:works")


def test_the_list_costs_the_same_for_one_and_for_twenty(counter: Staff, django_assert_max_num_queries: Any) -> None:
    client = signed_in(counter)
    for _ in range(20):
        a_work(counter, WorkState.DONE)
    with django_assert_max_num_queries(6):
        client.get(reverse("shop:works"))
