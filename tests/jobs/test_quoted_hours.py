"""Hours quoted against hours worked: like against like, and every job that is left out says why."""

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.models import Job
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.queries import quoted
from jobs.queries.quoted import QuotedHours, quoted_hours
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from shop.clock import now
from shop.models import Staff
from tests.builders import STEPS, _Way, a_flat_task, a_job, a_profile, a_staff, some_work

pytestmark = pytest.mark.django_db
# So much above what was agreed to that no hour of a test is refused.
ROOM = 10_000_000


def found() -> QuotedHours:
    return quoted_hours(now() - timedelta(days=1), now() + timedelta(days=30))


def agree(job: Job, *lines: estimates.TypedLine, person: Staff, at: datetime) -> None:
    """A version with these lines, sent and agreed to."""
    draft = estimates.draft(job, person=person, at=at)
    for line in lines:
        estimates.add_line(draft, line)
    sent = estimates.send(draft, person=person, at=at)
    record_answer(sent, Answer(True, ConsentHow.IN_PERSON, job.customer.name, person=person), at=at)
    job.refresh_from_db()


def hours(low: int, high: int = 0) -> estimates.TypedLine:
    return estimates.TypedLine(EstimateLineKind.LABOUR, "Repair", low_minutes=low, high_minutes=high)


def a_done_job(*versions: tuple[estimates.TypedLine, ...], worked: int = 90) -> Job:
    """A job that became ready, with these versions agreed to one after the other."""
    person = a_staff()
    a_profile(allowance_bp=ROOM)
    job = a_job("inspecting", with_fit=False)
    for lines in versions:
        agree(job, *lines, person=person, at=now())
    if worked:
        some_work(job, worked)
    for _, step in STEPS[3:7]:
        step(job, _Way(person, 0, False), now())
        job.refresh_from_db()
    assert job.stage == "ready"
    return job


def test_the_high_end_of_the_hours_agreed_to_stands_against_all_time_logged() -> None:
    job = a_done_job((hours(60, 120),), worked=90)
    some_work(job, 30, not_charged="goodwill")
    (one,) = found().jobs
    assert (one.number, one.first_minutes, one.last_minutes, one.worked_minutes, one.times) == (job.number, 120, 120, 120, 1)
    assert one.ratio == 1.0
    assert found().left_out == ()


def test_a_second_version_counts_as_the_last_quote_and_the_first_is_kept() -> None:
    """A newer version begins with the lines of the one before it."""
    a_done_job((hours(60),), (hours(60),), worked=150)
    (one,) = found().jobs
    assert (one.first_minutes, one.last_minutes, one.times) == (60, 120, 2)
    assert (one.ratio, one.first_ratio) == (1.25, 2.5)


def test_tasks_at_a_fixed_price_are_neither_quoted_nor_worked_hours() -> None:
    task = a_flat_task()
    job = a_done_job((hours(60), estimates.TypedLine(EstimateLineKind.FLAT, "Align", task=task)), worked=60)
    some_work(job, 45, task=task)
    (one,) = found().jobs
    assert (one.last_minutes, one.worked_minutes) == (60, 60)


def test_a_job_that_cannot_be_compared_is_left_out_with_its_reason() -> None:
    fee = estimates.TypedLine(EstimateLineKind.FEE, "Work as foreseen", low_minor=20_000, high_minor=20_000)
    a_done_job((fee,))
    a_done_job((hours(60),), worked=0)
    claim = a_done_job((hours(60),))
    Job.objects.filter(pk=claim.pk).update(warranty_of=claim)
    assert found().jobs == ()
    assert set(found().left_out) == {(quoted.NO_HOURS, 1), (quoted.NOTHING_LOGGED, 1), (quoted.UNDER_WARRANTY, 1)}
    assert found().median_ratio is None
    assert found().left_out_count == 3


def test_hours_that_only_repeat_what_was_worked_are_no_quote() -> None:
    a_profile(allowance_bp=ROOM)
    person, job = a_staff(), a_job("inspecting")
    agree(job, person=person, at=now())
    some_work(job, 60)
    agree(job, person=person, at=now())
    for _, step in STEPS[3:7]:
        step(job, _Way(person, 0, False), now())
        job.refresh_from_db()
    assert found().left_out == ((quoted.ONLY_WORKED, 1),)


def test_only_jobs_that_became_ready_in_the_time_count() -> None:
    a_done_job((hours(60),))
    a_job("repairing")
    assert len(found().jobs) == 1
    assert quoted_hours(now() + timedelta(days=10), now() + timedelta(days=20)).jobs == ()
    assert quoted_hours(now() - timedelta(days=20), now() - timedelta(days=10)).jobs == ()


def test_many_jobs_ask_no_more_questions_than_one() -> None:
    a_done_job((hours(60),))
    with CaptureQueriesContext(connection) as one:
        found()
    for _ in range(3):
        a_done_job((hours(60),), (hours(90),))
    with CaptureQueriesContext(connection) as many:
        assert len(found().jobs) == 4
    assert len(many) == len(one) == 6


def test_of_very_many_the_newest_are_read_and_how_many_are_older_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(quoted, "MOST_JOBS", 2)
    jobs = [a_done_job((hours(60),)) for _ in range(3)]
    some = found()
    assert [job.pk for job in some.jobs] == [job.pk for job in jobs[1:]]
    assert (some.read, some.older) == (2, 1)
