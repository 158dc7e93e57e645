"""Private addresses of customers and calendars: revoked, let in again, bad in every way, and what they never tell."""

import io
import logging
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import ApprovalLink, Consent, Estimate
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from shop.calendars.links import make_link
from shop.clock import now
from shop.models import AccessEvent, ActOnce, AuditEntry, CalendarLink, Staff
from shop.profile import StaffFacts, change_staff, give_password, staff_seen
from shop.web.logs import OneLine
from tests.builders import a_job, a_staff
from tests.conftest import PASSWORD, StillClock, signed_in
from tests.faults.bad_links import run

pytestmark = pytest.mark.django_db


def sent_link() -> tuple[Estimate, str]:
    shown = a_job("awaiting_consent").estimates.get(state="sent")  # type: ignore[attr-defined]
    return shown, estimates.make_link(shown, person=a_staff(), at=now())


def pressed(client: Client, name: str, pk: int) -> Any:
    return client.post(reverse(name, args=[pk]), {"once": str(uuid4())}, follow=True)


def status(token: str) -> int:
    return Client().get(reverse("approve", args=[token])).status_code


def feed(token: str) -> int:
    return Client().get(reverse("calendar_feed", args=[token])).status_code


def test_two_hundred_bad_addresses_decide_nothing_and_all_get_one_answer(still_clock: StillClock) -> None:
    told = run(200)
    assert (told.accepted, told.differing) == ({}, {})
    assert told.noted == 20, "no more within one hour"


class TestACustomersLink:
    def test_is_revoked_from_the_estimate_and_that_can_be_undone(self, counter_client: Client) -> None:
        shown, token = sent_link()
        page = counter_client.get(reverse("jobs:estimate", args=[shown.job_id])).content.decode()
        assert "Revoke the private link" in page
        page = pressed(counter_client, "jobs:estimate_link_revoke", shown.pk).content.decode()
        assert "The private link to version 1 leads nowhere any more." in page
        assert status(token) == 404
        assert reverse("jobs:estimate_link_restore", args=[shown.pk]) in page
        pressed(counter_client, "jobs:estimate_link_restore", shown.pk)
        assert status(token) == 200

    def test_is_revoked_after_the_answer_too(self, counter_client: Client) -> None:
        shown, token = sent_link()
        answer = Answer(True, "in_person", "Iwona Brzask", person=a_staff(), cancellation_told=True)
        record_answer(shown, answer, at=now())
        assert status(token) == 200
        pressed(counter_client, "jobs:estimate_link_revoke", shown.pk)
        assert status(token) == 404

    def test_that_was_replaced_or_ran_out_is_not_let_in_again(self, counter_client: Client) -> None:
        shown, old = sent_link()
        estimates.make_link(shown, person=a_staff(), at=now())
        answer = pressed(counter_client, "jobs:estimate_link_restore", shown.pk)
        assert answer.status_code == 409
        assert "That link can’t be let in again." in answer.content.decode().replace("&#x27;", "’").replace("'", "’")
        ApprovalLink.objects.update(revoked_at=now(), expires_at=now() - timedelta(seconds=1))
        assert pressed(counter_client, "jobs:estimate_link_restore", shown.pk).status_code == 409
        assert pressed(counter_client, "jobs:estimate_link_revoke", shown.pk).status_code == 409
        assert status(old) == 404

    def test_is_no_business_of_the_bench(self, colleague_client: Client) -> None:
        shown, token = sent_link()
        assert pressed(colleague_client, "jobs:estimate_link_revoke", shown.pk).status_code == 403
        assert status(token) == 200

    def test_is_printed_on_the_paper_only_while_it_is_good(self, counter_client: Client) -> None:
        shown, token = sent_link()
        address = reverse("jobs:estimate_pdf", args=[shown.pk])
        with_link = len(counter_client.post(address, {"token": token}).content)
        estimates.revoke_link(shown, at=now())
        assert len(counter_client.post(address, {"token": token}).content) < with_link

    def test_decides_by_posting_only(self) -> None:
        shown, token = sent_link()
        address = reverse("approve", args=[token])
        for method in ("get", "head", "options", "put", "patch", "delete", "trace"):
            answer = getattr(Client(), method)(address)
            assert answer.status_code == (200 if method in ("get", "head") else 405), method
        assert not Consent.objects.filter(estimate=shown).exists()

    def test_sends_its_address_nowhere_and_stays_in_no_browser(self) -> None:
        """No word of it in a Referer: the page's own policy keeps the path back, as a form's origin must still be told."""
        _, token = sent_link()
        for one in (token, "x" * 43):
            answer = Client().get(reverse("approve", args=[one]))
            assert answer["Referrer-Policy"] == "no-referrer"
            assert answer["Cache-Control"] == "private, no-store"
            assert answer["X-Robots-Tag"] == "noindex, nofollow"
            assert '<meta name="referrer" content="strict-origin">' in answer.content.decode()

    def test_is_told_to_no_table_and_no_log(self, counter_client: Client, caplog: pytest.LogCaptureFixture) -> None:
        shown, _ = sent_link()
        made = counter_client.post(reverse("jobs:estimate_link", args=[shown.pk]), {"once": str(uuid4())})
        token = made.context["token"]
        told = io.StringIO()
        handler = logging.StreamHandler(told)
        handler.setFormatter(OneLine())
        logging.getLogger("django").addHandler(handler)
        try:
            Client().put(reverse("approve", args=[token]))
            Client().get(reverse("approve_photo", args=[token, 10**30]))
            Client(enforce_csrf_checks=True).post(reverse("approve", args=[token]))
        finally:
            logging.getLogger("django").removeHandler(handler)
        assert told.getvalue().count("/answer/…") >= 3
        assert token not in told.getvalue()
        for model, columns in (
            (ActOnce, ("answer", "act")),
            (AccessEvent, ("note", "address")),
            (AuditEntry, ("before", "after", "what", "row")),
        ):
            for column in columns:
                assert not model.objects.filter(**{f"{column}__contains": token}).exists(), (model, column)


class TestACalendarsLink:
    def test_runs_out_after_a_year_and_is_renewed(self, counter: Staff, still_clock: StillClock) -> None:
        token, client = make_link("my telephone", person=counter, at=now()), signed_in(counter)
        address = reverse("shop:calendar_links")
        assert "2 Mar 2027" in (page := client.get(address).content.decode())
        assert "Renew" not in page
        still_clock.forward(days=310)
        client = signed_in(counter)
        assert "Runs out soon" in client.get(address).content.decode()
        still_clock.forward(days=55)
        client = signed_in(counter)
        assert feed(token) == 404
        assert "Ran out: nothing can read it" in client.get(address).content.decode()
        page = pressed(client, "shop:calendar_renew", CalendarLink.objects.get().pk).content.decode()
        assert "The link for “my telephone” is good for another year." in page
        assert feed(token) == 200

    def test_made_before_links_ran_out_is_good_for_a_year_from_its_making(self, counter: Staff, still_clock: StillClock) -> None:
        token = make_link("my telephone", person=counter, at=now())
        CalendarLink.objects.update(expires_at=None)
        still_clock.forward(days=364)
        assert feed(token) == 200
        still_clock.forward(days=1)
        assert feed(token) == 404

    @pytest.mark.parametrize("how", ["new password", "shut out"])
    def test_ends_for_good_with_the_password_and_with_the_work(self, counter: Staff, owner: Staff, how: str) -> None:
        token = make_link("my telephone", person=counter, at=now())
        if how == "new password":
            give_password(counter, "another-" + PASSWORD, by=owner, at=now())
        else:
            facts = StaffFacts(counter.role, counter.shown_name, False)
            change_staff(counter, facts, seen=staff_seen(counter), by=owner, at=now())
            Staff.objects.filter(pk=counter.pk).update(is_active=True)
        assert feed(token) == 404
        pk = CalendarLink.objects.get().pk
        counter.refresh_from_db()
        answer = pressed(signed_in(counter), "shop:calendar_restore", pk)
        assert "be let in again. Make a new one below." in answer.content.decode()
        assert pressed(signed_in(counter), "shop:calendar_renew", pk).status_code == 409
        assert feed(token) == 404

    def test_is_renewed_by_its_own_person_only(self, counter: Staff, owner: Staff) -> None:
        make_link("my telephone", person=counter, at=now())
        assert pressed(signed_in(owner), "shop:calendar_renew", CalendarLink.objects.get().pk).status_code == 404


def test_a_bad_address_is_written_down_without_its_words(still_clock: StillClock) -> None:
    Client().get(reverse("approve", args=["y" * 43]))
    Client().get(reverse("calendar_feed", args=["z" * 43]))
    calendar, estimate = AccessEvent.objects.filter(kind="bad_link")
    assert [(one.note, one.address, one.person) for one in (estimate, calendar)] == [
        ("estimate", "127.0.0.1", None),
        ("calendar", "127.0.0.1", None),
    ]
    for _ in range(30):
        Client().get(reverse("approve", args=["y" * 43]))
    assert AccessEvent.objects.filter(kind="bad_link").count() == 20
    assert AccessEvent.objects.filter(kind="bad_link")[0].note == "estimate; more of them within the hour are not written down"
    still_clock.forward(hours=1, seconds=1)
    Client().get(reverse("approve", args=["y" * 43]))
    assert AccessEvent.objects.filter(kind="bad_link").count() == 21
