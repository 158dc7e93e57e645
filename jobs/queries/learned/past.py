"""Finished jobs as the forecast learns from them: only first stays of sets that were to work, and that were really inspected.

A job under warranty repeats an earlier one, and a set for display is restored otherwise; both are left out. So are sets whose
owners declined: nobody knows what they would have come to. Sums are folds over the log, under today's tax.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from statistics import median
from typing import NamedTuple

from django.db.models import Count, Max, Q, QuerySet

from inventory.components.roles import ROLES
from jobs.forecast.durations import SetLike
from jobs.forecast.history import PastJob, SeenPosition
from jobs.models import Goal, Job, LabourEntry, Position, Stage
from jobs.models.job import JobQuerySet
from jobs.queries.exposure import with_tax
from jobs.queries.folded import is_inspected, states_of, was_decided, was_replaced
from jobs.queries.learned.kinds import age_band, cell_of, year_of
from jobs.queries.sheet import PositionState
from shop.models import Profile

DONE = (Stage.READY, Stage.HANDED_OVER, Stage.SOLD)
TO_WORK = (Goal.WORKING, Goal.SYMPATHETIC)
# A shop of twenty years learns from its last ones: in a forecast a job counts half after four years anyway.
MOST_JOBS = 500
# What tax does to a sum, reckoned on one of this size, of which parts are three tenths. Common practice, no source.
TAXED_PARTS, TAXED_WORK = 300_000, 700_000


class Labour(NamedTuple):
    """One entry of labour that counts."""

    job_id: int
    step: str
    minutes: int
    amount_minor: int
    charged: bool
    task_id: int | None
    flat_minor: int | None
    hour_rate_minor: int

    @property
    def is_fee(self) -> bool:
        return self.task_id is None and self.flat_minor is not None

    @property
    def billed_minor(self) -> int:
        return self.amount_minor if self.charged else 0


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished job, told and summed up. `came_to_minor` with tax, as its log adds up to; None where nothing was charged."""

    pk: int
    number: str
    model_pk: int
    model: str
    alike: tuple[str, str]
    past: PastJob

    @property
    def came_to_minor(self) -> int | None:
        return self.past.billed_minor


def tax_factor(profile: Profile) -> float:
    """What the customer pays for what is priced at 1: 1.2 at 20 %, 1 where prices include the tax."""
    return with_tax(profile, [TAXED_PARTS], [TAXED_WORK]) / (TAXED_PARTS + TAXED_WORK)


def newest_done() -> QuerySet[Job]:
    """The finished jobs that are learned from, the newest first: what is older says little of today's prices and hours."""
    return _done().order_by("-pk")[:MOST_JOBS]


def finished_jobs(profile: Profile, at: datetime) -> list[Finished]:
    """The newest first stays, in six queries, however many jobs there are."""
    newest = dict(newest_done().values_list("pk", "radio_id"))
    done = _done().filter(pk__in=[*newest, *_earlier_stays(newest)])
    states, sizes, labour = states_of(done), _sizes(done), labour_of(done)
    found: list[Finished] = []
    seen: set[int] = set()
    for job in done.annotate(ready_at=Max("acts__at", filter=Q(acts__to_stage=Stage.READY))).order_by("pk"):
        positions, valves = sizes.get(job.pk, (0, 0))
        sheet = states.get(job.pk, [])
        if job.radio_id in seen or not is_inspected(sheet, positions):
            continue
        seen.add(job.radio_id)
        if job.pk in newest:
            found.append(_finished(job, sheet, valves, labour.get(job.pk, []), profile, at))
    return found


def _earlier_stays(newest: Mapping[int, int]) -> list[int]:
    """Stays of the same sets before the newest jobs: they tell which of these is a first stay."""
    before = _done().filter(radio__in=set(newest.values()), pk__lt=min(newest, default=0))
    return list(before.order_by("pk").values_list("pk", flat=True))


def _done() -> JobQuerySet:
    """The query as a condition of others has no order and no joins."""
    return Job.objects.filter(stage__in=DONE, goal__in=TO_WORK, warranty_of=None).select_related("radio__model__set_class")


def _sizes(jobs: QuerySet[Job]) -> dict[int, tuple[int, int]]:
    """By job, how many positions its sheet has, and how many of them are valves."""
    valves = Count("pk", filter=Q(role__in=[code for code, role in ROLES.items() if role.kind == "valve"]))
    rows = Position.objects.filter(job__in=jobs.order_by()).order_by().values_list("job").annotate(all=Count("pk"), valves=valves)
    return {job: (positions, valves) for job, positions, valves in rows}


def labour_of(jobs: QuerySet[Job]) -> dict[int, list[Labour]]:
    counts = LabourEntry.objects.filter(job__in=jobs.order_by(), corrected_by__isnull=True, withdrawn=False)
    found: dict[int, list[Labour]] = {}
    for values in counts.order_by("pk").values_list(*Labour._fields):
        found.setdefault(values[0], []).append(Labour(*values))
    return found


def set_like(job: Job, valves: int) -> SetLike:
    kind = job.radio.model.set_class
    return SetLike(kind.name if kind else "", valves or None)


def _finished(
    job: Job, sheet: Sequence[PositionState], valves: int, labour: Sequence[Labour], profile: Profile, at: datetime
) -> Finished:
    parts = [state.price_minor for state in sheet]
    fees = sum(one.billed_minor for one in labour if one.is_fee)
    came_to = with_tax(profile, parts, [one.billed_minor for one in labour])
    ready_at: datetime | None = getattr(job, "ready_at", None)
    told = PastJob(
        like=set_like(job, valves),
        positions=tuple(_seen(state, job) for state in sheet if was_decided(state)),
        minutes=tuple(sorted(minutes_by_step(labour).items())),
        rate_minor_per_hour=_rate(labour, profile),
        billed_minor=came_to or None,
        fees_minor=with_tax(profile, [], [fees]) if fees else 0,
        tax_factor=_factor(came_to, sum(parts) + sum(one.billed_minor for one in labour)),
        days_ago=(at - ready_at).total_seconds() / 86_400 if ready_at else 0.0,
    )
    model = job.radio.model
    return Finished(job.pk, job.number, model.pk, str(model), alike_by(job), told)


def alike_by(job: Job) -> tuple[str, str]:
    """What sets of other models are held against: supply, and the age of the set."""
    return job.radio.model.supply_kind, age_band(year_of(job.radio))


def _seen(state: PositionState, job: Job) -> SeenPosition:
    replaced = was_replaced(state) or state.decision == "remove"
    price = state.price_minor
    return SeenPosition(cell_of(state, year_of(job.radio), job.radio.model), replaced, price or None)


def minutes_by_step(labour: Sequence[Labour]) -> Mapping[str, float]:
    minutes: dict[str, float] = {}
    for one in labour:
        if one.minutes:
            minutes[one.step] = minutes.get(one.step, 0.0) + one.minutes
    return minutes


def _rate(labour: Sequence[Labour], profile: Profile) -> float:
    """An hour's price on that job, else today's; a shop that names none is reckoned at 1, as money can't be nothing a minute."""
    rates = [one.hour_rate_minor for one in labour if one.hour_rate_minor]
    return float(median(rates) if rates else profile.hour_rate_minor or 1)


def _factor(gross: int, priced: int) -> float:
    return float(Decimal(gross) / priced) if priced and gross else 1.0
