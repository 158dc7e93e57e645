"""A clock that was left running: what was really worked is typed in, by whoever started it or by the owner."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, LabourEntry, Stage, Timer
from jobs.services.labour import start_clock
from shop.clock import now
from shop.models import Staff
from tests.builders import a_job, a_profile, a_staff
from tests.conftest import StillClock, signed_in
from tests.jobs.at_bench import token
from tests.jobs.sent import sent_form
from tests.words import words_of


@pytest.fixture
def job(db: None, still_clock: StillClock) -> Job:
    """200.00 of labour is agreed to, at 40.00 an hour."""
    a_profile()
    return a_job(Stage.REPAIRING)


@pytest.fixture
def clock(job: Job, colleague: Staff) -> Timer:
    """Started yesterday at half past one in the afternoon."""
    return start_clock(job, "repair", person=colleague, at=now() - timedelta(hours=20))


def address(clock: Timer) -> str:
    return reverse("jobs:clock_end", args=[clock.pk])


def test_what_was_really_worked_is_logged_on_the_day_it_was_started(colleague_client: Client, clock: Timer, job: Job) -> None:
    page = colleague_client.get(address(clock))
    assert "Ran over night Started 1 Mar 2026, 13:30, 20 h ago." in words_of(page)
    form = sent_form(page, "minutes")
    assert form["minutes"] == ""
    answer = colleague_client.post(address(clock), form | {"minutes": "1:30", "text": "recapped"})
    assert answer.headers["Location"] == reverse("jobs:labour", args=[job.pk])
    entry = LabourEntry.objects.get()
    assert (entry.minutes, entry.worked_on, entry.text, entry.worker_id) == (
        90,
        (now() - timedelta(days=1)).date(),
        "recapped",
        clock.person_id,
    )
    assert not Timer.objects.exists()
    colleague_client.post(address(clock), form | {"minutes": "1:30"})
    assert LabourEntry.objects.count() == 1


def test_a_clock_of_today_proposes_its_own_time(job: Job, colleague: Staff, colleague_client: Client) -> None:
    clock = start_clock(job, "repair", person=colleague, at=now() - timedelta(minutes=50))
    assert sent_form(colleague_client.get(address(clock)), "minutes")["minutes"] == "0:50"


def test_nothing_is_logged_where_nothing_was_worked(colleague_client: Client, clock: Timer) -> None:
    colleague_client.post(address(clock), {"once": token(), "nothing": "on", "minutes": ""})
    assert not Timer.objects.exists()
    assert not LabourEntry.objects.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Type the time that was really worked, or tick that nothing was."),
        ("a while", "“a while” can't be read as a time."),
        ("21:00", "The clock hasn't run that long. Type the time that was really worked."),
    ],
)
def test_a_bad_time_leaves_the_clock_running_and_what_was_typed(
    colleague_client: Client, clock: Timer, typed: str, said: str
) -> None:
    answer = colleague_client.post(address(clock), {"once": token(), "minutes": typed, "text": "kept here"})
    assert answer.status_code == 422
    assert said in words_of(answer)
    assert "kept here" in answer.content.decode()
    assert Timer.objects.exists()


def test_beyond_the_agreed_sum_the_clock_keeps_running(colleague_client: Client, clock: Timer) -> None:
    answer = colleague_client.post(address(clock), {"once": token(), "minutes": "12:00"})
    assert answer.status_code == 422
    assert "The clock keeps running Nothing is lost." in words_of(answer)
    assert Timer.objects.exists()


def test_the_owner_stops_anybodys_and_comes_back_to_where_they_were(owner_client: Client, clock: Timer) -> None:
    answer = owner_client.post(address(clock) + "?next=/", {"once": token(), "minutes": "30"})
    assert answer.headers["Location"] == "/"
    assert LabourEntry.objects.get().worker_id == clock.person_id


def test_another_bench_hand_is_told_whose_it_is(clock: Timer) -> None:
    answer = signed_in(a_staff("third")).get(address(clock))
    assert answer.status_code == 409
    assert "This is the clock of Benno Tarnwick. They stop it, or the owner does." in words_of(answer)


def test_one_that_was_stopped_is_told(colleague_client: Client, clock: Timer) -> None:
    gone = address(clock)
    clock.delete()
    for answer in (colleague_client.get(gone), colleague_client.post(gone, {"once": token(), "minutes": "5"})):
        assert answer.status_code == 409
        assert "This clock was stopped already." in words_of(answer)


def test_the_counter_and_a_stranger_stop_none(counter_client: Client, stranger_client: Client, clock: Timer) -> None:
    assert counter_client.get(address(clock)).status_code == 403
    assert stranger_client.get(address(clock)).headers["Location"].startswith(reverse("login"))
