"""A set that is asked about, as the forecast wants it: what its log has settled, and what is still open."""

from collections.abc import Sequence

from inventory.components.roles import role as role_of
from jobs.forecast.total import CasePosition, CaseStep, SetCase
from jobs.models import Decision, Job, Stage, Step, Verdict
from jobs.queries.learned.kinds import cell_of, year_of
from jobs.queries.learned.past import Labour, labour_of, minutes_by_step, set_like, tax_factor
from jobs.queries.sheet import PositionState, Sheet
from shop.models import Profile

GONE = (Verdict.OPEN, Verdict.SHORTED, Verdict.LEAKY, Verdict.WRONG_PART)
STILL_INSPECTING = (Stage.TAKEN_IN, Stage.INSPECTING)


def case_of(job: Job, sheet: Sheet, profile: Profile) -> SetCase:
    """One query, for the time that is logged already."""
    valves = sum(role_of(row.role).kind == "valve" for row in sheet.rows)
    positions = tuple(_position(row, job) for row in sheet.rows)
    return SetCase(set_like(job, valves), positions, _steps(job), tax_factor=tax_factor(profile))


def settled(row: PositionState) -> bool | None:
    """Whether a part goes in: as decided; else as the last reading tells; None while neither says so."""
    if row.fitted or row.decision in (Decision.REPLACE, Decision.REMOVE):
        return True
    if row.decision:
        return False
    if row.verdict in GONE:
        return True
    return False if row.verdict == Verdict.WITHIN else None


def _position(row: PositionState, job: Job) -> CasePosition:
    cell = cell_of(row, year_of(job.radio), job.radio.model)
    price = (row.price_minor or row.planned_minor) if row.has_price else 0 if row.decision == Decision.REMOVE else None
    return CasePosition(row.position.designator, cell, settled(row), price)


def _steps(job: Job) -> tuple[CaseStep, ...]:
    """Inspecting is over once the set left that stage; of the other steps nobody knows before the job is done."""
    worked = minutes_by_step(_labour(job))
    over = job.stage not in STILL_INSPECTING
    inspected = worked.get(Step.INSPECTION) if over else None
    first = CaseStep(Step.INSPECTION, None if inspected is None else True, inspected)
    return (first, *(CaseStep(step) for step in Step.values if step != Step.INSPECTION))


def _labour(job: Job) -> Sequence[Labour]:
    return labour_of(Job.objects.filter(pk=job.pk)).get(job.pk, [])
