"""Parts that open jobs still need: decided on and neither fitted nor held, and what sets just taken in will likely need."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from django.db.models import Count, Exists, Max, OuterRef, Q, QuerySet

from inventory.components.roles import role as role_of
from inventory.models import Part
from jobs.models import Decision, EntryKind, Job, LogEntry, Position, Stage
from jobs.queries.sheet import PositionState

# Fitting, second look, safety checks and soak: days before the promised one by which parts must lie on the bench.
# Common practice, no source; the page says the days and lets them be changed.
BENCH_DAYS = 5
# What was decided less often than this says little about the next time.
FEW = 5
# How the shop decides, and what it fits, is told by its newest entries: years of them are read no further back than this.
NEWEST = 2_000

EARLY = (Stage.TAKEN_IN, Stage.INSPECTING)
AGREED = (Stage.AGREED, Stage.REPAIRING, Stage.PROVING, Stage.SOAKING)
NEEDING = (*EARLY, Stage.AWAITING_CONSENT, *AGREED)


@dataclass(frozen=True, slots=True)
class Need:
    """`count` parts that one position still needs. `part` is None where none is chosen yet.

    `share`: how likely it is needed at all, 1 where it was decided. `last_part`: what was fitted last where the same was called
    for.
    """

    job: Job
    position: Position
    called: str
    part: Part | None
    count: int
    needed_on: date | None
    why: str
    share: Fraction = Fraction(1)
    last_part: Part | None = None

    @property
    def is_agreed(self) -> bool:
        return self.job.stage in AGREED

    @property
    def role_label(self) -> str:
        return role_of(self.position.role).label


def needs(bench_days: int = BENCH_DAYS) -> list[Need]:
    """What was decided to be replaced and is neither fitted nor held, the first promised first. Five queries."""
    replaced = LogEntry.objects.filter(position=OuterRef("pk"), kind=EntryKind.DECIDED, decision=Decision.REPLACE)
    found = [need for state in _states(Q(Exists(replaced)), NEEDING) if (need := _decided(state, bench_days)) is not None]
    return _with_last_parts(found, lambda need: need.part is None)


def likely_needs(bench_days: int = BENCH_DAYS) -> list[Need]:
    """What sets that are taken in or on inspection will likely need, at positions that nobody has decided on. Seven queries."""
    found = []
    for state in _states(Q(), EARLY):
        why = must_replace(state)
        if why and not state.decision and not state.fitted:
            found.append(_need(state, None, 1, why, bench_days))
    shares = replaced_shares({need.position.role for need in found})
    weighed = [replace(need, share=shares.get(need.position.role, Fraction(1))) for need in found]
    return [replace(need, part=need.last_part) for need in _with_last_parts(weighed, lambda need: True)]


def must_replace(state: PositionState) -> str:
    """Why the part at a position is usually replaced whatever it reads; empty where it isn't. Common practice, no source."""
    role = role_of(state.role)
    if role.safety:
        return "connected to the line: a part of a safety class goes in"
    if role.kind == "capacitance" and role.polarised == "yes":
        return "electrolytic: dries out with the years"
    if state.role == "coupling":
        return "coupling: a leak here puts the output valve at risk"
    said = f"{state.called} {state.found.text if state.found else ''}".casefold()
    return "paper: leaks with the years" if "paper" in said.split() or "wax" in said.split() else ""


def replaced_shares(roles: Iterable[str]) -> dict[str, Fraction]:
    """Of each role, how much of what this shop decided on lately was replaced; only roles with enough decisions to say so."""
    newest = LogEntry.objects.filter(pk__in=_newest(EntryKind.DECIDED))
    decided = newest.filter(withdrawn=False, corrected_by=None, position__role__in=list(roles))
    counted = (
        decided.order_by()
        .values("position__role")
        .annotate(
            all=Count("position", distinct=True),
            replaced=Count("position", distinct=True, filter=Q(decision=Decision.REPLACE)),
        )
    )
    return {row["position__role"]: Fraction(row["replaced"], row["all"]) for row in counted if row["all"] >= FEW}


def _newest(kind: str) -> "QuerySet[LogEntry, Any]":
    """The newest entries of a kind by their keys, so that the database begins at them, whatever it believes of other ways."""
    return LogEntry.objects.filter(kind=kind).order_by("-pk").values("pk")[:NEWEST]


def _states(which: Q, stages: Sequence[str]) -> list[PositionState]:
    """Positions of unbilled jobs at these stages, each with its log and its job, in three queries however many there are."""
    jobs = {job.pk: job for job in Job.objects.filter(stage__in=stages, billed=False).select_related("radio__model")}
    # By their jobs' keys: the log of twenty years is never asked which of it is of these jobs.
    asked = Position.objects.filter(which, job__in=list(jobs))
    positions = list(asked.order_by("job", "order", "pk"))
    entries = LogEntry.objects.filter(job__in=list(jobs), position__in=asked.values("pk"))
    logs: dict[int | None, list[LogEntry]] = {}
    for entry in entries.select_related("part", "hold").order_by("job", "seq"):
        logs.setdefault(entry.position_id, []).append(entry)
    for position in positions:
        position.job = jobs[position.job_id]
    states = [PositionState(position, logs.get(position.pk, [])) for position in positions]
    return sorted(states, key=lambda state: (state.position.job.promised_on or date.max, state.position.job_id))


def _decided(state: PositionState, bench_days: int) -> Need | None:
    if not state.to_fit or state.decided is None:
        return None
    entry = state.decided
    held = entry.hold.count if entry.hold is not None and entry.hold.is_open else 0
    missing = entry.count - held
    if entry.part is not None and missing < 1:
        return None
    why = "no part is chosen yet" if entry.part is None else f"only {held} of {entry.count} are held" if held else "none is held"
    return _need(state, entry.part, max(missing, 1), why, bench_days)


def _need(state: PositionState, part: Part | None, count: int, why: str, bench_days: int) -> Need:
    job = state.position.job
    by = job.promised_on - timedelta(days=bench_days) if job.promised_on else None
    return Need(job, state.position, state.called, part, count, by, why)


def _with_last_parts(found: Sequence[Need], wanted: Callable[[Need], bool]) -> list[Need]:
    last = _last_fitted([need for need in found if wanted(need)])
    return [replace(need, last_part=last.get(_place(need))) if wanted(need) else need for need in found]


def _place(need: Need) -> tuple[str, str]:
    return need.position.role, need.called


def _last_fitted(found: Sequence[Need]) -> Mapping[tuple[str, str], Part]:
    """What was fitted last at a position of the same role that called for the same, as far back as `NEWEST`, in two queries."""
    roles, called = {need.position.role for need in found}, {need.called for need in found if need.called}
    fits = LogEntry.objects.filter(
        pk__in=_newest(EntryKind.FITTED),
        position__role__in=roles,
        position__called__in=called,
        part__in_use=True,
        taken_out_by=None,
    )
    newest = fits.order_by().values("position__role", "position__called").annotate(newest=Max("pk")).values("newest")
    last = LogEntry.objects.filter(pk__in=newest).select_related("part", "position")
    return {(fit.position.role, fit.position.called): fit.part for fit in last if fit.position and fit.part}
