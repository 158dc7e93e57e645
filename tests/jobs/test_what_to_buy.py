"""The buy list: what jobs need less what there is, the first needed first; what is likely stands apart."""

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest

from inventory import services as stock
from inventory.models import Kind
from jobs.models import Decision, Job, Stage
from jobs.queries.needs import BENCH_DAYS, likely_needs, needs
from jobs.queries.wanted import LIKELY, SURE, UNANSWERED, buy_list
from jobs.services import log
from shop.clock import now, today
from tests.builders import a_job, a_lot, a_part, a_profile, author, drawer_of, plan_part, position_of
from tests.inventory.orders import a_sent_order, draft_line

pytestmark = pytest.mark.django_db
PROMISED = date(2026, 4, 1)


@pytest.fixture(autouse=True)
def _shop(still_clock: Any) -> None:
    a_profile()


def planned(job: Job, part: Any = None, designator: str = "C3", count: int = 1) -> None:
    """A part that no drawer holds is planned: it has a list price, so it can be."""
    chosen = part or a_part("47 µF 450 V", list_price_minor=300)
    log.decide(position_of(job, designator), Decision.REPLACE, author(), plan=log.Plan(chosen, count))


def test_a_position_to_be_replaced_by_a_part_that_is_not_there_needs_it() -> None:
    job = a_job(Stage.REPAIRING, with_fit=False, promised_on=PROMISED)
    part = a_part("47 µF 450 V", list_price_minor=300)
    planned(job, part, count=2)
    line = buy_list().sure[0]
    assert (line.part, line.count, line.needed_on, line.for_what) == (
        part,
        2,
        PROMISED - timedelta(days=BENCH_DAYS),
        job.number,
    )
    assert [(need.position.designator, need.why) for need in line.needs] == [("C3", "none is held")]


def test_what_is_held_or_fitted_is_not_needed() -> None:
    held = a_job(Stage.INSPECTING)
    a_job(Stage.PROVING)
    assert held.positions.exists()
    assert needs() == []


def test_a_part_that_lies_free_in_a_drawer_is_not_bought() -> None:
    job = a_job(Stage.REPAIRING, with_fit=False)
    part = a_part("47 µF 450 V", list_price_minor=300)
    planned(job, part)
    a_lot(part, 1)
    assert buy_list().sure == []
    lot = part.lots.get()
    stock.hold(lot, drawer_of(lot), 1, reference="J-2026-0999", person=author().person, at=now())
    assert buy_list().sure[0].count == 1


def test_what_there_is_goes_to_the_job_that_is_promised_first_and_the_minimum_comes_last() -> None:
    part = a_part("47 µF 450 V", list_price_minor=300, minimum=5)
    late = a_job(Stage.REPAIRING, with_fit=False, promised_on=PROMISED + timedelta(days=9))
    soon = a_job(Stage.REPAIRING, with_fit=False, promised_on=PROMISED)
    for job in (late, soon):
        planned(job, part)
    a_lot(part, 1)
    line = buy_list().sure[0]
    assert [(due.count, due.need.job if due.need else None) for due in line.dues] == [(1, late), (5, None)]
    assert (line.for_minimum, line.for_what) == (5, f"{soon.number}, {late.number}, stock")
    assert [due.count for due in line.dues_for(3)] == [1, 2]
    assert [(due.count, due.needed_on) for due in line.dues_for(8)][-1] == (2, None)


def test_what_is_on_order_is_taken_off() -> None:
    job = a_job(Stage.REPAIRING, with_fit=False)
    part = a_part("47 µF 450 V", list_price_minor=300)
    planned(job, part, count=3)
    a_sent_order(draft_line(part, 2))
    assert buy_list().sure[0].count == 1


def test_what_nobody_agreed_to_stands_apart() -> None:
    job = a_job(Stage.INSPECTING, with_fit=False)
    planned(job)
    listed = buy_list()
    assert listed.sure == []
    assert [line.group for line in listed.wanted if line.needs[0].job == job and line.group != LIKELY] == [UNANSWERED]


@pytest.mark.parametrize("stage", [Stage.READY, Stage.DECLINED, Stage.HANDED_OVER, Stage.RETURNED])
def test_jobs_that_are_over_need_nothing(stage: str) -> None:
    job = a_job(stage)
    assert not [need for need in [*needs(), *likely_needs()] if need.job == job]


def test_a_decision_without_a_part_is_listed_by_what_was_called_for_with_what_was_fitted_last() -> None:
    last = a_job(Stage.PROVING).entries.filter(kind="fitted").get().part
    for _ in range(2):
        job = a_job(Stage.REPAIRING, with_fit=False)
        log.decide(position_of(job, "C2"), Decision.REPLACE, author())
    found = [one for one in buy_list().cardless if one.group == SURE]
    assert [(one.called, one.count, one.last_part) for one in found] == [(".01 400 V", 2, last)]


def test_a_decision_that_was_taken_back_needs_nothing() -> None:
    job = a_job(Stage.REPAIRING, with_fit=False)
    planned(job)
    log.decide(position_of(job, "C3"), Decision.KEEP, author(), why="reads well")
    assert needs() == []


def test_sets_just_taken_in_will_likely_need_what_is_nearly_always_renewed() -> None:
    a_job(Stage.TAKEN_IN)
    found = {need.position.designator: need.why.split(":")[0] for need in likely_needs()}
    assert found == {"C1": "connected to the line", "C2": "coupling", "C3": "electrolytic"}


def test_what_is_likely_is_weighed_by_how_often_this_shop_renewed_it() -> None:
    for number in range(5):
        job = a_job(Stage.REPAIRING, with_fit=False)
        decision = Decision.REPLACE if number < 4 else Decision.KEEP
        log.decide(position_of(job, "C2"), decision, author())
    stock.block_lot(a_job(Stage.PROVING).entries.filter(kind="fitted").get().lot, "fakes")
    a_job(Stage.TAKEN_IN)
    line = next(line for line in buy_list().likely if line.part.marking == "0.01 µF 630 V")
    # Six were decided on, the fitted one among them; five of those were replaced.
    assert line.share == Fraction(5, 6)
    assert line.needs[0].last_part == line.part


def test_what_was_decided_is_no_longer_guessed() -> None:
    job = a_job(Stage.INSPECTING, with_fit=False)
    log.decide(position_of(job, "C3"), Decision.KEEP, author())
    assert "C3" not in {need.position.designator for need in likely_needs()}


def test_days_at_the_bench_can_be_others() -> None:
    planned(a_job(Stage.REPAIRING, with_fit=False, promised_on=PROMISED))
    assert buy_list(bench_days=0).sure[0].needed_on == PROMISED


def test_a_part_can_be_put_on_the_list_by_hand() -> None:
    part = a_part()
    assert [(line.part, line.count) for line in buy_list(added=[part.pk, part.pk, 10**9]).added] == [(part, 1)]


@pytest.mark.parametrize("many", [1, 12])
def test_the_list_asks_the_same_number_of_times(many: int, django_assert_num_queries: Any) -> None:
    for number in range(many):
        job = a_job(Stage.REPAIRING, with_fit=False, promised_on=today())
        planned(job, a_part(f"{10 + number} µF 450 V", list_price_minor=300, minimum=3))
        log.decide(position_of(job, "R1"), Decision.REPLACE, author())
    plan_part(a_job(Stage.INSPECTING, with_fit=False))
    a_job(Stage.TAKEN_IN)
    a_part("1K 1/2W", Kind.RESISTOR, minimum=3)
    with django_assert_num_queries(14):
        buy_list()
