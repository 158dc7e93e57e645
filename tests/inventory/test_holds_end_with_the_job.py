"""What was held for a job is free again when the set has left, whether it was repaired or not."""

import pytest

from inventory.models import Balance, Hold
from jobs.models import Stage
from jobs.queries.candidates import candidates_for
from jobs.queries.sheet import position_state
from jobs.services.called_for import CalledRow
from tests.builders import a_job, a_lot, a_model, a_part, position_of

pytestmark = pytest.mark.django_db


def test_a_declined_job_holds_its_parts_until_the_set_leaves() -> None:
    assert Hold.objects.filter(log_entry__job=a_job(Stage.DECLINED), ended_at=None).count() == 1


def test_a_set_that_left_unrepaired_holds_nothing() -> None:
    job = a_job(Stage.RETURNED)
    assert Hold.objects.filter(log_entry__job=job, ended_why="let go").count() == 1
    assert Balance.objects.get().free == 10


def test_a_transistor_out_of_the_drawers_is_offered_where_one_is_called_for() -> None:
    model = a_model("Pocket Six", supply_kind="battery", rows=[CalledRow("TR1", "transistor", "OC45")])
    job = a_job(model=model)
    lot = a_lot(a_part("OC45", "transistor"))
    found = candidates_for(position_state(position_of(job, "TR1")), job)
    assert [(one.lot, one.answer.answer) for one in found] == [(lot, "yes")]
