"""Sets in the house by stage and by the weeks since they were taken in."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.models import Job
from jobs.queries.ages import AGES, ages_by_stage
from shop.clock import now, today
from tests.builders import a_job
from tests.conftest import StillClock

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("days", "place"), [(0, 0), (13, 0), (14, 1), (27, 1), (28, 2), (55, 2), (56, 3), (83, 3), (84, 4), (4000, 4)]
)
def test_a_set_is_counted_once_by_the_days_it_has_been_here(still_clock: StillClock, days: int, place: int) -> None:
    job = a_job()
    Job.objects.filter(pk=job.pk).update(taken_in_at=now() - timedelta(days=days))
    first = ages_by_stage(today())[0]
    assert first.label == "Taken in"
    assert first.counts == tuple(int(at == place) for at in range(len(AGES)))
    assert (first.jobs, first.oldest_days) == (1, days)


def test_stages_stand_in_the_order_of_the_work_and_what_left_the_house_is_in_none(still_clock: StillClock) -> None:
    for stage in ("taken_in", "ready", "handed_over", "returned"):
        a_job(stage)
    with CaptureQueriesContext(connection) as asked:
        found = ages_by_stage(today())
    assert [(one.stage, one.jobs) for one in found if one.jobs] == [("taken_in", 1), ("ready", 1)]
    assert [one.stage for one in found][:3] == ["taken_in", "inspecting", "awaiting_consent"]
    assert len(asked) == 1
