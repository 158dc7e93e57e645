"""Labour: the clock, typed time, flat tasks, what isn't charged, corrections, and the agreed sum."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from jobs.models import Job, LabourEntry, Stage, Timer
from jobs.queries.exposure import exposure_of, standing_labour
from jobs.services.labour import Work, charged_minutes, log_work, start_clock
from jobs.services.log import profile
from shop.clock import now, today
from shop.models import Staff
from tests.builders import a_flat_task, a_job, a_profile, some_work
from tests.conftest import StillClock
from tests.jobs.at_bench import token
from tests.jobs.sent import sent_form


@pytest.fixture
def job(db: None, still_clock: StillClock) -> Job:
    """200.00 of labour is agreed to, at 40.00 an hour."""
    return a_job(Stage.REPAIRING)


def page(job: Job, name: str = "labour") -> str:
    return reverse(f"jobs:{name}", args=[job.pk])


def send(client: Client, job: Job, name: str = "labour_time", **typed: object):
    person = client.session["_auth_user_id"]
    usual = {"once": token(), "worker": person, "step": "repair", "worked_on": today().isoformat()}
    return client.post(page(job, name), {**usual, **typed})


# Rounding up to the shop's step is the trade's habit (common practice, no source).
@pytest.mark.parametrize(
    ("worked", "step", "charged"), [(1, 15, 15), (15, 15, 15), (31, 15, 45), (60, 15, 60), (7, 1, 7), (7, 0, 7)]
)
def test_worked_minutes_are_charged_in_whole_steps(worked: int, step: int, charged: int) -> None:
    assert charged_minutes(worked, step) == charged


@pytest.mark.parametrize(("typed", "minutes"), [("45", 45), ("1:30", 90), ("2 h", 120), ("1.5 h", 90)])
def test_time_is_typed_in_hours_or_minutes(colleague_client: Client, job: Job, typed: str, minutes: int) -> None:
    assert send(colleague_client, job, minutes=typed, text="recapped").status_code == 302
    entry = LabourEntry.objects.get(job=job)
    assert (entry.minutes, entry.text, entry.hour_rate_minor) == (minutes, "recapped", 4000)


@pytest.mark.parametrize("typed", ["", "0", "-5", "1:75", "a while", "25:00"])
def test_an_absurd_time_is_refused_and_everything_typed_stays(colleague_client: Client, job: Job, typed: str) -> None:
    answer = send(colleague_client, job, minutes=typed, text="kept on the page")
    assert answer.status_code == 422
    assert 'value="kept on the page"' in answer.content.decode()
    assert not job.labour.exists()


def test_a_day_that_hasnt_come_is_refused(colleague_client: Client, job: Job) -> None:
    answer = send(colleague_client, job, minutes="30", worked_on=(today() + timedelta(days=1)).isoformat())
    assert "The day worked lies in the future." in answer.content.decode()


def test_a_flat_task_costs_its_price_whatever_the_time(colleague_client: Client, job: Job) -> None:
    task = a_flat_task()
    assert send(colleague_client, job, "labour_task", task=task.pk).status_code == 302
    entry = job.labour.get()
    assert (entry.amount_minor, entry.minutes, entry.step) == (6000, 0, "alignment")


def test_what_isnt_charged_says_why_and_costs_nothing(colleague_client: Client, job: Job) -> None:
    send(colleague_client, job, minutes="60", not_charged="put my own slip right")
    entry = job.labour.get()
    assert (entry.charged, entry.not_charged_reason, entry.billed_minor) == (False, "put my own slip right", 0)


def test_the_clock_logs_what_it_measured(colleague_client: Client, job: Job, still_clock: StillClock) -> None:
    form = sent_form(colleague_client.get(page(job)), "step")
    colleague_client.post(page(job, "clock_start"), form | {"step": "cleaning"})
    still_clock.forward(minutes=50)
    answer = colleague_client.get(page(job))
    assert "cleaning, 50 min so far" in answer.content.decode()
    colleague_client.post(page(job, "clock_stop"), {"once": token(), "text": "washed the chassis"})
    entry = job.labour.get()
    assert (entry.minutes, entry.charged_minutes, entry.amount_minor, entry.step) == (50, 60, 4000, "cleaning")
    assert not Timer.objects.exists()


def test_one_person_has_one_clock(colleague_client: Client, colleague: Staff, job: Job) -> None:
    other = a_job()
    start_clock(job, "repair", person=colleague, at=now())
    answer = colleague_client.post(page(other, "clock_start"), {"once": token(), "step": "repair"}, follow=True)
    assert f"Your clock is running on job {job.number}. Stop it first." in answer.content.decode()
    assert Timer.objects.count() == 1


def test_a_dropped_clock_logs_nothing(colleague_client: Client, colleague: Staff, job: Job) -> None:
    start_clock(job, "repair", person=colleague, at=now())
    colleague_client.post(page(job, "clock_drop"), {"once": token()})
    assert not Timer.objects.exists()
    assert not job.labour.exists()


def test_nobody_stops_anothers_clock(owner_client: Client, colleague: Staff, job: Job) -> None:
    start_clock(job, "repair", person=colleague, at=now())
    answer = owner_client.post(page(job, "clock_stop"), {"once": token()})
    assert escape("Your clock isn't running on this job any more.") in answer.content.decode()
    assert Timer.objects.count() == 1


def test_a_clock_forgotten_overnight_is_not_booked(
    colleague_client: Client, colleague: Staff, job: Job, still_clock: StillClock
) -> None:
    start_clock(job, "repair", person=colleague, at=now())
    still_clock.forward(hours=25)
    answer = colleague_client.post(page(job, "clock_stop"), {"once": token()})
    assert "This clock ran for more than a day. Drop it, and type in the time that was really worked." in answer.content.decode()


def test_typed_time_above_the_agreed_sum_stops_with_a_way_to_revise(colleague_client: Client, job: Job) -> None:
    answer = send(colleague_client, job, minutes="6:00", text="long story")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "£200.60 is agreed" in text
    assert "with this labour the job would stand at £240.00" in text
    assert f'href="{reverse("jobs:estimate", args=[job.pk])}"' in text
    assert 'value="long story"' in text
    assert 'value="6:00"' in text


def test_above_the_agreed_sum_the_clock_keeps_running_and_nothing_is_lost(
    colleague_client: Client, colleague: Staff, job: Job, still_clock: StillClock
) -> None:
    start_clock(job, "repair", person=colleague, at=now())
    still_clock.forward(hours=6)
    answer = colleague_client.post(page(job, "clock_stop"), {"once": token(), "text": "traced the hum"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "The clock keeps running" in text
    assert 'value="traced the hum"' in text
    assert Timer.objects.get().person == colleague
    colleague_client.post(page(job, "clock_stop"), sent_form(answer, "text") | {"not_charged": "learning"})
    assert (job.labour.get().minutes, job.labour.get().charged) == (360, False)


def test_a_correction_replaces_and_both_stay_readable(colleague_client: Client, job: Job) -> None:
    first = some_work(job, 120)
    address = reverse("jobs:labour_correct", args=[first.pk])
    form = sent_form(colleague_client.get(address), "minutes")
    assert form["minutes"] == "2:00"
    answer = colleague_client.post(address, form | {"minutes": "1:00"}, follow=True)
    assert [(entry.minutes, entry.corrects) for entry in standing_labour(job)] == [(60, first)]
    assert 'class="is-corrected"' in answer.content.decode()
    assert exposure_of(job, profile()).spent_minor == 4000


def test_an_entry_is_corrected_once(colleague_client: Client, job: Job) -> None:
    first = some_work(job, 120)
    address = reverse("jobs:labour_correct", args=[first.pk])
    form = sent_form(colleague_client.get(address), "minutes")
    colleague_client.post(address, form | {"minutes": "60"})
    answer = colleague_client.post(address, form | {"once": token(), "minutes": "90"})
    assert "This entry was corrected or taken back already. Load the page again." in answer.content.decode()
    assert 'value="90"' in answer.content.decode()


def test_an_entry_is_taken_back_with_a_reason(colleague_client: Client, job: Job) -> None:
    entry = some_work(job)
    address = reverse("jobs:labour_withdraw", args=[entry.pk])
    assert colleague_client.post(address, {"once": token(), "why": " "}).status_code == 422
    colleague_client.post(address, {"once": token(), "why": "wrong job"})
    assert not standing_labour(job).exists()
    assert job.labour.count() == 2


def test_the_same_time_sent_twice_is_logged_once(colleague_client: Client, job: Job) -> None:
    once = token()
    for _ in range(2):
        assert send(colleague_client, job, minutes="30", once=once).status_code == 302
    assert job.labour.count() == 1


def test_totals_stand_by_step_and_by_person(colleague_client: Client, colleague: Staff, owner: Staff, job: Job) -> None:
    some_work(job, 60, person=colleague)
    some_work(job, 30, person=owner, step="cleaning")
    text = colleague_client.get(page(job)).content.decode()
    for words in (
        "Repair, 1 h",
        "Cleaning, 30 min",
        "Benno Tarnwick, 1 h",
        "Orla Quillfeather, 30 min",
        "Together, 1 h 30 min",
        "£60.00",
    ):
        assert words in text


def test_the_counter_reads_labour_and_logs_none(counter_client: Client, job: Job) -> None:
    assert counter_client.get(page(job)).status_code == 200
    assert send(counter_client, job, minutes="30").status_code == 403
    assert counter_client.post(page(job, "clock_start"), {"once": token(), "step": "repair"}).status_code == 403


def test_the_day_worked_is_the_shops_own_day(colleague: Staff, still_clock: StillClock, settings, db: None) -> None:
    """At half past nine in the morning in London it is evening in Auckland, and soon tomorrow."""
    settings.TIME_ZONE = "Pacific/Auckland"
    a_profile()
    job = a_job(Stage.REPAIRING)
    still_clock.forward(hours=4)
    assert some_work_today(job, colleague).worked_on == today()


def some_work_today(job: Job, person: Staff) -> LabourEntry:
    return log_work(job, Work(person, "repair", today(), 30), person=person, at=now())
