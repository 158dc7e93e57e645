"""The calendar of promised days: private links, and what a calendar program reads.

Checked against RFC 5545 (iCalendar) and RFC 7986 by their sections, and read back with the general library `icalendar`.
"""

from datetime import date, datetime
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from jobs.models import Job, Stage
from jobs.services.collection import Notice, record_notice
from shop.calendars.links import make_link
from shop.calendars.writing import DayEvent, calendar_bytes
from shop.clock import now
from shop.models import CalendarLink, Staff
from shop.private_tokens import digest_of
from tests import builders as make
from tests.conftest import MONDAY, StillClock, signed_in

PROMISED = date(2026, 3, 13)


@pytest.fixture(autouse=True)
def _clock(still_clock: StillClock) -> None:
    pass


def feed(token: str, **headers: str) -> Any:
    return Client().get(reverse("calendar_feed", args=[token]), headers=headers)


def events(person: Staff) -> list[Any]:
    answer = feed(make_link("my telephone", person=person, at=now()))
    assert answer.status_code == 200
    return Calendar.from_ical(answer.content).walk("VEVENT")


def promised(**facts: Any) -> Job:
    return make.a_job(promised_on=PROMISED, **facts)


@pytest.mark.django_db
class TestWhatIsRead:
    def test_each_promise_is_a_whole_day_with_number_and_set(self, colleague: Staff) -> None:
        job = promised()
        make.a_job()  # nothing is promised of it
        (event,) = events(colleague)
        assert event["summary"] == f"{job.number}: {job.radio.model} promised"
        assert (event["dtstart"].dt, event["dtstart"].params["VALUE"]) == (PROMISED, "DATE")
        assert "dtend" not in event, "RFC 5545, 3.6.1: without an end it takes its one day"
        assert event["url"] == f"http://testserver{reverse('jobs:job', args=[job.pk])}"

    def test_nothing_in_it_is_the_customers(self, owner: Staff) -> None:
        customer = make.a_customer("Wilma Ostrander", email="wilma@example.org", phone="020 7946 0000")
        promised(customer=customer, fault="Left by Wilma's uncle.", stands_at="shelf 4, Ostrander")
        content = feed(make_link("my telephone", person=owner, at=now())).content.decode()
        assert not [word for word in ("Wilma", "Ostrander", "example.org", "7946", "uncle") if word in content]

    def test_a_closed_job_is_no_longer_in_it(self, owner: Staff) -> None:
        promised()
        Job.objects.update(stage=Stage.RETURNED)
        assert events(owner) == []

    def test_only_the_counter_sees_the_lawful_days(self, counter: Staff, colleague: Staff, owner: Staff) -> None:
        job = make.a_job(Stage.READY)
        for kind, names in (("collect", None), ("sale", date(2026, 9, 1))):
            notice = Notice(kind, MONDAY.date(), "registered post", "1 Pettiwick Row", names, undisputed=True, checked=True)
            record_notice(job, notice, person=owner, at=now())
        assert events(colleague) == []
        (event,) = events(counter)
        assert event["dtstart"].dt == date(2026, 9, 1)
        assert event["summary"].endswith("not collected, the day named by the notice")
        assert "licensed practitioner" in event["description"]

    def test_an_event_keeps_its_name_and_counts_its_changes(self, owner: Staff) -> None:
        """RFC 5545, 3.8.4.7 (UID), 3.8.7.4 (SEQUENCE): the same event, revised."""
        job = promised()
        (before,) = events(owner)
        Job.objects.filter(pk=job.pk).update(promised_on=date(2026, 3, 20), version=job.version + 1)
        (after,) = events(owner)
        assert before["uid"] == after["uid"]
        assert after["sequence"] > before["sequence"]
        assert after["dtstamp"].dt == after["last-modified"].dt

    def test_the_number_of_questions_does_not_grow_with_the_jobs(self, owner: Staff, django_assert_num_queries: Any) -> None:
        token = make_link("my telephone", person=owner, at=now())
        promised()
        feed(token)
        with django_assert_num_queries(5) as asked:
            feed(token)
        promised()
        make.a_job(Stage.READY)
        with django_assert_num_queries(len(asked) + 2):  # notices and disputes of what is ready, for all at once
            feed(token)


@pytest.mark.django_db
class TestTheAddress:
    def test_is_shown_once_and_kept_as_a_digest_only(self, counter: Staff) -> None:
        client, once = signed_in(counter), str(uuid4())
        typed = {"name": "my telephone", "once": once}
        page = client.post(reverse("shop:calendar_links"), typed)
        link = CalendarLink.objects.get()
        token = page.context["url"].split("/")[-2]
        assert len(token) == 43, "256 bits in base64url (RFC 4648, 5)"
        assert link.token_digest == digest_of(token)
        assert page.headers["Cache-Control"] == "no-store"
        assert token not in client.get(reverse("shop:calendar_links")).content.decode()
        again = client.post(reverse("shop:calendar_links"), typed, follow=True).content.decode()
        assert "That link was made and shown already." in again
        assert CalendarLink.objects.count() == 1

    def test_needs_no_cookie_and_sets_none(self, owner: Staff) -> None:
        answer = feed(make_link("my telephone", person=owner, at=now()))
        assert not answer.cookies
        assert answer.headers["Cache-Control"].startswith("private")
        assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"

    def test_gives_one_and_the_same_answer_to_whatever_is_no_link(self, owner: Staff, counter: Staff) -> None:
        revoked = make_link("old telephone", person=owner, at=now())
        CalendarLink.objects.update(revoked_at=now())
        shut_out = make_link("theirs", person=counter, at=now())
        Staff.objects.filter(pk=counter.pk).update(is_active=False)
        answers = [feed(token) for token in (revoked, shut_out, "A" * 43, "x", "%00", digest_of(revoked), "é" * 43)]
        assert {answer.status_code for answer in answers} == {404}
        assert {answer.content for answer in answers} == {b"There is no calendar here.\n"}
        assert len({str(sorted(answer.headers.items())) for answer in answers}) == 1

    def test_takes_looking_only(self, owner: Staff) -> None:
        token = make_link("my telephone", person=owner, at=now())
        assert Client().post(reverse("calendar_feed", args=[token])).status_code == 405
        assert Client().head(reverse("calendar_feed", args=[token])).status_code == 200

    def test_is_not_sent_again_unchanged(self, owner: Staff, still_clock: StillClock) -> None:
        """RFC 9110, 13.1.2: If-None-Match."""
        promised()
        token = make_link("my telephone", person=owner, at=now())
        first = feed(token)
        still_clock.forward(hours=2)
        again = feed(token, If_None_Match=first.headers["ETag"])
        assert (again.status_code, again.content) == (304, b"")

    def test_notes_when_it_was_last_read_once_an_hour(self, owner: Staff, still_clock: StillClock) -> None:
        token = make_link("my telephone", person=owner, at=now())
        feed(token)
        still_clock.forward(minutes=30)
        feed(token)
        assert CalendarLink.objects.get().read_at == MONDAY
        feed_at: datetime = still_clock.forward(minutes=31)
        feed(token)
        assert CalendarLink.objects.get().read_at == feed_at


@pytest.mark.django_db
class TestMyLinks:
    def test_a_link_is_revoked_and_that_can_be_undone(self, counter: Staff) -> None:
        client, token = signed_in(counter), make_link("my telephone", person=counter, at=now())
        pk = CalendarLink.objects.get().pk
        page = client.post(reverse("shop:calendar_revoke", args=[pk]), {"once": str(uuid4())}, follow=True).content.decode()
        assert "The link for “my telephone” leads nowhere any more." in page
        assert feed(token).status_code == 404
        undo = reverse("shop:calendar_restore", args=[pk])
        assert undo in page
        client.post(undo, {"once": str(uuid4())})
        assert feed(token).status_code == 200

    def test_nobody_touches_the_link_of_another(self, counter: Staff, owner: Staff) -> None:
        make_link("my telephone", person=counter, at=now())
        pk = CalendarLink.objects.get().pk
        assert signed_in(owner).post(reverse("shop:calendar_revoke", args=[pk]), {"once": str(uuid4())}).status_code == 404
        assert "my telephone" not in signed_in(owner).get(reverse("shop:calendar_links")).content.decode().split("<h2")[0]

    def test_a_link_without_a_name_is_refused(self, counter_client: Client) -> None:
        answer = counter_client.post(reverse("shop:calendar_links"), {"name": " ", "once": str(uuid4())})
        assert answer.status_code == 422
        assert "Write which device or program will read it, so that you can tell the links apart." in answer.content.decode()

    def test_somebody_not_signed_in_sees_no_links(self, stranger_client: Client) -> None:
        assert stranger_client.get(reverse("shop:calendar_links")).headers["Location"].startswith(reverse("login"))


LONG = "Ładny odbiornik; stroik, gałka \\ 5 MΩ\nstoi na półce " + "bardzo długo " * 12


class TestWriting:
    def written(self) -> bytes:
        return calendar_bytes("Promised days", [DayEvent("a-1", PROMISED, LONG, LONG, "http://x.example/", MONDAY, 3)])

    def test_no_line_is_longer_than_75_octets(self) -> None:
        """RFC 5545, 3.1: a line is no longer than 75 octets without its break; a longer one is folded by CRLF and a space."""
        lines = self.written().split(b"\r\n")
        assert max(map(len, lines)) <= 75
        assert any(line.startswith(b" ") for line in lines)
        assert lines[-1] == b"", "RFC 5545, 3.1: every line ends with CRLF"

    def test_text_is_escaped_and_comes_back_as_it_was(self) -> None:
        """RFC 5545, 3.3.11: backslash, semicolon, comma and a line's end are escaped in TEXT."""
        unfolded = self.written().replace(b"\r\n ", b"").decode()
        assert "SUMMARY:Ładny odbiornik\\; stroik\\, gałka \\\\ 5 MΩ\\nstoi" in unfolded
        (event,) = Calendar.from_ical(self.written()).walk("VEVENT")
        assert str(event["summary"]) == LONG

    def test_control_characters_never_get_in(self) -> None:
        """RFC 5545, 3.1: CONTROL is no part of TEXT."""
        content = calendar_bytes("a\0b", [DayEvent("a-1", PROMISED, "x\r\nATTACH:y\x07", "", "http://x.example/", MONDAY)])
        assert b"\0" not in content
        assert b"\x07" not in content
        assert b"\r\nATTACH" not in content

    def test_what_every_calendar_and_event_must_hold(self) -> None:
        """RFC 5545, 3.6: PRODID and VERSION; 3.6.1: UID and DTSTAMP, the latter in UTC (3.8.7.2)."""
        calendar = Calendar.from_ical(self.written())
        assert (calendar["version"], bool(calendar["prodid"])) == ("2.0", True)
        (event,) = calendar.walk("VEVENT")
        assert (event["uid"], event["sequence"]) == ("a-1", 3)
        assert b"DTSTAMP:20260302T093000Z" in self.written()
        assert b"DTSTART;VALUE=DATE:20260313" in self.written()
