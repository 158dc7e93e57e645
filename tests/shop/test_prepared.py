"""Questions whose SQL is written once: the words are kept, never an answer."""

import pytest
from django.db import connection, transaction
from django.db.models import F
from django.test.utils import CaptureQueriesContext

from jobs.models import Job, LogEntry, Stage
from jobs.services import log
from shop.models import Profile
from shop.prepared import Prepared
from tests.builders import a_job, author, position_of

pytestmark = pytest.mark.django_db
ENTRIES = Prepared(lambda job: LogEntry.objects.filter(job=job).order_by("seq"))


def test_answers_as_the_query_does_each_time_anew() -> None:
    jobs = [a_job(Stage.REPAIRING), a_job(Stage.REPAIRING)]
    for job in (*jobs, *jobs):
        log.record_measured(position_of(job, "R1"), "220k", author())
        assert ENTRIES.all(job.pk) == list(LogEntry.objects.filter(job=job).order_by("seq"))
    seen, again = ENTRIES.all(jobs[0].pk)[0], LogEntry.objects.filter(job=jobs[0]).order_by("seq")[0]
    assert {**vars(seen), "_state": None} == {**vars(again), "_state": None}


def test_asks_the_database_every_time() -> None:
    job = a_job()
    with CaptureQueriesContext(connection) as asked:
        ENTRIES.all(job.pk), ENTRIES.all(job.pk)
    assert len(asked) == 2


def test_what_is_not_there_is_none_or_raises() -> None:
    by_key = Prepared(lambda key: Job.objects.filter(pk=key))
    assert by_key.first(-1) is None
    with pytest.raises(Job.DoesNotExist, match="Job -1 is not there."):
        by_key.get(-1)


def test_takes_just_as_many_keys_as_its_question() -> None:
    with pytest.raises(TypeError, match="This question takes 1 keys, not 2."):
        ENTRIES.all(1, 2)


def test_constants_beside_the_keys_stay_and_keys_may_repeat() -> None:
    job = a_job()
    question = Prepared(lambda one, other: Job.objects.filter(pk__in=(one, other), stage=Stage.TAKEN_IN).values_list("number"))
    assert question.tuples(job.pk, job.pk) in ([(job.number,)], ((job.number,),))


def test_may_bring_columns_of_other_tables() -> None:
    job = a_job(Stage.REPAIRING)
    entry = log.record_measured(position_of(job, "R1"), "220k", author())
    named = Prepared(lambda key: LogEntry.objects.filter(pk=key).annotate(designator=F("position__designator")))
    assert named.get(entry.pk).designator == "R1"  # type: ignore[attr-defined]


def test_locks_where_rows_can_be_locked() -> None:
    locked = Prepared(lambda key: Job.objects.select_for_update().filter(pk=key))
    with transaction.atomic(), CaptureQueriesContext(connection) as asked:
        locked.first(1)
    assert ("FOR UPDATE" in asked[0]["sql"]) is connection.features.has_select_for_update


def test_joined_rows_are_refused_when_it_is_made() -> None:
    joined = Prepared(lambda key: LogEntry.objects.filter(pk=key).select_related("job"))
    with pytest.raises(TypeError, match="rows of one table"):
        joined.first(1)


def test_the_profile_that_is_current_is_never_an_old_one() -> None:
    a_job()
    Profile.objects.update(name="Renamed Wireless")
    assert Profile.current() == Profile.objects.get()
    assert str(Profile.current()) == "Renamed Wireless"
