"""Stages change through named acts only; each says what it needs; what can be undone is undone by a new act."""

from itertools import pairwise

import pytest

from jobs.models import Job, JobAct, Stage
from jobs.services import estimates, stages
from jobs.services.stages import ACTS, BY_BUTTON, next_acts, undoable
from shop.acts import Refused
from shop.clock import now
from tests.builders import a_bench, a_job, a_staff

pytestmark = pytest.mark.django_db


def perform(job: Job, code: str) -> JobAct:
    return stages.perform(job, code, person=a_staff(), at=now())


@pytest.mark.parametrize("code", sorted(ACTS))
def test_an_act_starts_only_where_it_belongs(code: str) -> None:
    job = a_job()
    if Stage.TAKEN_IN in ACTS[code].starts:
        return
    with pytest.raises(Refused, match=f"“{ACTS[code].label}” doesn't fit now"):
        perform(job, code)
    job.refresh_from_db()
    assert job.stage == Stage.TAKEN_IN


def test_an_act_that_isnt_known_is_refused() -> None:
    with pytest.raises(Refused, match="There is no such act."):
        perform(a_job(), "fly")


def test_every_stage_but_the_last_ones_leads_somewhere() -> None:
    starts = {stage for act in ACTS.values() for stage in act.starts}
    assert starts == set(Stage) - {Stage.HANDED_OVER, Stage.RETURNED, Stage.SOLD}


def test_the_next_acts_say_what_is_missing() -> None:
    acts = {one.act.code: one.missing for one in next_acts(a_job(Stage.PROVING))}
    assert acts == {"start_soak": ("the second look", "a passed electrical safety check"), "back_to_bench": ()}


@pytest.mark.parametrize("code", BY_BUTTON)
def test_what_has_a_button_is_undone_if_it_is_reversible(code: str) -> None:
    starts = {"start_inspection": Stage.TAKEN_IN, "start_repair": Stage.AGREED, "finish_repair": Stage.REPAIRING,
              "back_to_bench": Stage.PROVING, "reinspect": Stage.AGREED}  # fmt: skip
    if code not in starts:
        return
    job = a_job(starts[code])
    done = perform(job, code)
    assert undoable(job) == done
    stages.undo(job, done, person=a_staff(), at=now())
    assert job.stage == starts[code]
    assert undoable(job) is None


def test_what_cant_be_undone_isnt() -> None:
    job = a_job(Stage.SOAKING)
    assert undoable(job) is None


def test_only_the_last_act_is_undone() -> None:
    job = a_job(Stage.INSPECTING)
    first = job.acts.get(act="start_inspection")
    estimates_sent = a_job(Stage.AWAITING_CONSENT)
    with pytest.raises(Refused, match="This can't be undone any more: the job has moved on since."):
        stages.undo(estimates_sent, estimates_sent.acts.get(act="start_inspection"), person=a_staff(), at=now())
    stages.undo(job, first, person=a_staff(), at=now())
    assert job.stage == Stage.TAKEN_IN


def test_every_move_leaves_an_act_behind() -> None:
    job = a_job(Stage.HANDED_OVER)
    listed = list(job.acts.order_by("pk"))
    assert all(before.to_stage == after.from_stage for before, after in pairwise(listed))
    assert listed[-1].to_stage == job.stage


def test_a_wait_set_by_hand_ends_when_the_job_moves_on() -> None:
    job = a_job()
    stages.wait_for(job, "person", "the owner", at=now())
    perform(job, "start_inspection")
    assert (job.waits_for, job.waits_since_at) == ("", None)


def test_a_revised_estimate_is_waited_for_whatever_the_bench_does_meanwhile() -> None:
    job = a_job(Stage.REPAIRING)
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.send(draft, person=a_staff(), at=now())
    job.refresh_from_db()
    assert job.waits_for == "approval"
    perform(job, "finish_repair")
    assert (job.stage, job.waits_for, job.waits_note) == (Stage.PROVING, "approval", "revised estimate")


def test_a_bench_is_free_again_when_its_set_is_handed_over() -> None:
    job = a_job(Stage.INSPECTING)
    stages.put_on_bench(job, a_bench(), at=now())
    stages.perform(job, "return_unrepaired", person=a_staff(), at=now())
    assert job.bench is None


def test_a_bench_out_of_use_takes_nothing() -> None:
    bench = a_bench()
    bench.in_use = False
    bench.save()
    with pytest.raises(Refused, match="Bench 1 is no longer in use. Choose another bench."):
        stages.put_on_bench(a_job(), bench, at=now())
