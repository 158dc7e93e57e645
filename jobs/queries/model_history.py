"""What sets of one model taught this shop: faults, what was found and replaced where, hours, readings, why some came back.

A set that was here more than once counts once at each place. Prices are not in here: a bill is the business of billing.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median

from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from inventory.components.roles import role as role_of
from jobs.models import EntryKind, Job, LabourEntry, Point, RadioModel, Stage, Step, Verdict
from jobs.models.claims import Cause, ClaimFinding
from jobs.queries.drift import Drift, drift_of_model
from jobs.queries.folded import READ, counts_of_places, states_of, was_decided, was_replaced
from jobs.queries.sheet import PositionState, Sheet

MOST_FOUND = 3
MOST_OFTEN, MOST_FAULTS = 6, 2
DONE = (Stage.READY, Stage.HANDED_OVER, Stage.SOLD)


@dataclass(frozen=True, slots=True)
class PastJob:
    """A stay of a set of this model. Whose it was is of no use at the bench, and is left out."""

    pk: int
    number: str
    stage: str
    serial: str
    year: int | None
    taken_in_on: date
    fault: str
    is_warranty: bool

    @property
    def stage_label(self) -> str:
        return Stage(self.stage).label


@dataclass(frozen=True, slots=True)
class PlaceHistory:
    """One designator in the sets of a model: in how many it was decided on, in how many a part of ours went in.

    `found` are (what was in there, in how many sets), `faults` (verdict, in how many), the most frequent first.
    """

    designator: str
    role: str
    called: str
    sets: int
    replaced: int
    found: tuple[tuple[str, int], ...] = ()
    faults: tuple[tuple[str, int], ...] = ()
    drift: Drift | None = None

    @property
    def role_label(self) -> str:
        return role_of(self.role).label


@dataclass(frozen=True, slots=True)
class StepHours:
    """Minutes of one step of the work in the jobs that logged any."""

    label: str
    jobs: int
    median: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class PointReading:
    """Volts at one point under power: the last reading of each set."""

    designator: str
    point: str
    sets: int
    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class CameBack:
    """One thing found on a set of this model that came back under warranty; `number` is the job it came back as."""

    pk: int
    number: str
    designator: str
    text: str
    cause: str


@dataclass(frozen=True, slots=True)
class ModelHistory:
    """`sets` are those that were here, `jobs` their stays, the newest first."""

    model: RadioModel
    sets: int = 0
    jobs: tuple[PastJob, ...] = ()
    places: tuple[PlaceHistory, ...] = ()
    hours: tuple[StepHours, ...] = ()
    points: tuple[PointReading, ...] = ()
    came_back: tuple[CameBack, ...] = ()

    @property
    def is_empty(self) -> bool:
        return not self.jobs

    @property
    def often(self) -> list[PlaceHistory]:
        """Places where a part went in at least once, the surest first."""
        went_in = [one for one in self.places if one.replaced]
        return sorted(went_in, key=lambda one: (-one.replaced / one.sets, -one.sets, self.places.index(one)))

    @property
    def causes(self) -> list[tuple[str, int]]:
        return Counter(one.cause for one in self.came_back).most_common()


def times_replaced(replaced: int, sets: int) -> str:
    """As one would say it at the bench: what other sets of the model needed there."""
    if sets == 1:
        return "replaced in the other set" if replaced else "left alone in the other set"
    if replaced in (0, sets):
        return f"{'replaced' if replaced else 'left alone'} in all {sets} other sets"
    return f"replaced in {replaced} of {sets} other sets"


def history_of(model: RadioModel) -> ModelHistory:
    """Everything of one model, in six queries however many sets there were."""
    jobs = list(Job.objects.filter(radio__model=model).select_related("radio").order_by("-pk"))
    if not jobs:
        return ModelHistory(model)
    states = states_of(Q(job__radio__model=model), (*READ, EntryKind.VOLTAGE))
    drifts = {one.name: one for one in drift_of_model(model)}
    return ModelHistory(
        model,
        len({job.radio_id for job in jobs}),
        tuple(map(_past, jobs)),
        tuple(_places(states, drifts)),
        tuple(hours_of(jobs)),
        tuple(_points(states)),
        tuple(_came_back(model)),
    )


def known_of_places(job: Job) -> dict[str, str]:
    """By designator, what was done there in other sets of the job's model, in words. One query."""
    others = Q(job__radio__model=job.radio.model_id) & ~Q(job__radio=job.radio_id)
    counts = counts_of_places(others)
    return {name: times_replaced(replaced, sets) for name, (sets, replaced) in counts.items()}


def with_elsewhere(sheet: Sheet) -> Sheet:
    """The sheet with what other sets of the model needed at each of its positions. One query."""
    known = known_of_places(sheet.job)
    rows = [replace(row, elsewhere=known.get(row.position.designator, "")) for row in sheet.rows]
    return replace(sheet, rows=rows) if known else sheet


def _past(job: Job) -> PastJob:
    radio = job.radio
    came = timezone.localdate(job.taken_in_at)
    return PastJob(job.pk, job.number, job.stage, radio.serial, radio.year, came, job.fault, job.warranty_of_id is not None)


def _by_name(sheets: Iterable[Sequence[PositionState]]) -> dict[str, list[PositionState]]:
    """In circuit order of the newest job."""
    listed = sorted((one for sheet in sheets for one in sheet), key=lambda one: (one.position.order, -one.position.job_id))
    named: dict[str, list[PositionState]] = {}
    for state in listed:
        named.setdefault(state.position.designator, []).append(state)
    return named


def _count(states: Iterable[PositionState]) -> tuple[int, int]:
    """In how many sets a place was decided on, and in how many a part went in."""
    decided: dict[int, bool] = {}
    for state in states:
        if was_decided(state):
            radio = state.position.radio_id  # type: ignore[attr-defined]
            decided[radio] = decided.get(radio, False) or was_replaced(state)
    return len(decided), sum(decided.values())


def _places(states: Mapping[int, Sequence[PositionState]], drifts: Mapping[str, Drift]) -> Iterable[PlaceHistory]:
    for name, places in _by_name(states.values()).items():
        sets, replaced = _count(places)
        newest = max(places, key=lambda one: one.position.job_id)
        faults = [Verdict(one.verdict).label for one in places if one.verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED)]
        found = Counter(one.found.text for one in places if one.found).most_common(MOST_FOUND)
        if sets or found or faults:
            counted = tuple(Counter(faults).most_common())
            yield PlaceHistory(name, newest.role, newest.called, sets, replaced, tuple(found), counted, drifts.get(name))


def hours_of(jobs: Iterable[Job]) -> list[StepHours]:
    """Time by step in jobs whose work is done, and all of it together. One query."""
    done = [job.pk for job in jobs if job.stage in DONE]
    counts = LabourEntry.objects.filter(job__in=done, corrected_by__isnull=True, withdrawn=False, minutes__gt=0)
    by_step: dict[str, list[int]] = {}
    whole: dict[int, int] = {}
    for job, step, minutes in counts.order_by().values_list("job", "step").annotate(sum=Sum("minutes")):
        by_step.setdefault(step, []).append(minutes)
        whole[job] = whole.get(job, 0) + minutes
    listed = [(Step(step).label, by_step[step]) for step in Step.values if step in by_step]
    return [_hours(label, minutes) for label, minutes in [*listed, *([("All steps", [*whole.values()])] if whole else [])]]


def _hours(label: str, minutes: Sequence[int]) -> StepHours:
    return StepHours(label, len(minutes), round(median(minutes)), min(minutes), max(minutes))


def _points(states: Mapping[int, Sequence[PositionState]]) -> Iterable[PointReading]:
    for name, places in _by_name(states.values()).items():
        last: dict[str, dict[int, float]] = {}
        for state in sorted(places, key=lambda one: one.position.job_id):
            for point, entry in state.voltages.items():
                last.setdefault(point, {})[state.position.radio_id] = entry.value_si or 0.0  # type: ignore[attr-defined]
        for point in Point:
            if point in last:
                volts = sorted(last[point].values())
                yield PointReading(name, point.label, len(volts), volts[0], median(volts), volts[-1])


def _standing_findings(model: RadioModel) -> QuerySet[ClaimFinding]:
    return ClaimFinding.objects.filter(claim__job__radio__model=model, corrected_by__isnull=True, withdrawn=False)


def _came_back(model: RadioModel) -> Iterable[CameBack]:
    """What stands of the findings on claims of this model's sets."""
    for one in _standing_findings(model).select_related("claim__job", "position", "line").order_by("pk"):
        designator = one.position.designator if one.position else one.line.designator if one.line else ""
        yield CameBack(one.claim.job_id, one.claim.job.number, designator, one.text, Cause(one.cause).label)


@dataclass(frozen=True, slots=True)
class Glimpse:
    """A model in a few lines, for the counter while a set is taken in. `minutes`: the median of jobs that are done."""

    model: RadioModel
    sets: int
    often: tuple[tuple[str, str], ...]
    minutes: int | None
    timed_jobs: int
    came_back: int
    faults: tuple[str, ...]


def glimpse_of(model: RadioModel) -> Glimpse | None:
    """None where no set of it was here. Four queries."""
    jobs = list(Job.objects.filter(radio__model=model).order_by("-pk"))
    if not jobs:
        return None
    counts = counts_of_places(Q(job__radio__model=model))
    often = sorted((one for one in counts.items() if one[1][1]), key=lambda one: (-one[1][1] / one[1][0], -one[1][0]))
    hours = hours_of(jobs)
    return Glimpse(
        model,
        len({job.radio_id for job in jobs}),
        tuple((name, f"in {replaced} of {sets}") for name, (sets, replaced) in often[:MOST_OFTEN]),
        hours[-1].median if hours else None,
        hours[-1].jobs if hours else 0,
        _standing_findings(model).count(),
        tuple(job.fault for job in jobs[:MOST_FAULTS]),
    )
