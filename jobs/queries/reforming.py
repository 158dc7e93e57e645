"""Reforming runs as their readings leave them: what stands, the limit, the advice, and how far it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.db.models import QuerySet

from inventory.components.answers import milliamps_text
from inventory.components.notation import NotationError, Spec, read_notation, write_value
from inventory.components.roles import role as role_of
from jobs.bench.leakage import is_electrolytic_size
from jobs.bench.reforming import Advice, Standing, Taken, advise, standing_of
from jobs.models import Position, Reforming, ReformReading
from jobs.queries.sheet import PositionState


def decimal(value: float) -> Decimal:
    return Decimal(repr(value))


@dataclass(frozen=True)
class Line:
    """One reading of the table: `struck_by` what corrects it or takes it back, `corrects` what it does so to.

    `minutes` are those of the reading that was first written, as the plot has it.
    """

    reading: ReformReading
    minutes: Decimal
    struck_by: ReformReading | None
    corrects: ReformReading | None = None

    @property
    def volts_text(self) -> str:
        return write_value(self.reading.volts, "voltage")

    @property
    def leak_text(self) -> str:
        return milliamps_text(decimal(self.reading.leak_amps))

    @property
    def can_change(self) -> bool:
        return self.struck_by is None and not self.reading.withdrawn


@dataclass(frozen=True)
class Run:
    """One run with its readings, oldest first."""

    reforming: Reforming
    readings: Sequence[ReformReading]

    @property
    def farads(self) -> Decimal:
        return decimal(self.reforming.farads)

    @property
    def rated_volts(self) -> Decimal:
        return decimal(self.reforming.rated_volts)

    @cached_property
    def advice(self) -> Advice:
        ohms = None if self.reforming.series_ohms is None else decimal(self.reforming.series_ohms)
        return advise(self.farads, self.rated_volts, self.reforming.rule, ohms)

    @property
    def limit_text(self) -> str:
        return milliamps_text(self.advice.limit.amps)

    def minutes_of(self, reading: ReformReading) -> Decimal:
        seconds = (reading.at - self.reforming.started_at).total_seconds()
        return (Decimal(repr(seconds)) / 60).quantize(Decimal("0.1"))

    @cached_property
    def lines(self) -> list[Line]:
        struck = {reading.corrects_id: reading for reading in self.readings if reading.corrects_id}
        by_pk = {one.pk: one for one in self.readings}
        return [
            Line(reading, self.minutes_of(self._first(reading)), struck.get(reading.pk), by_pk.get(reading.corrects_id or 0))
            for reading in self.readings
        ]

    @property
    def latest_first(self) -> list[Line]:
        return self.lines[::-1]

    @cached_property
    def standing_readings(self) -> list[ReformReading]:
        """Those that count, by the time at which they were taken: a correction stands at the time of the one it corrects."""
        kept = [line.reading for line in self.lines if line.can_change]
        return sorted(kept, key=lambda reading: self._first(reading).seq)

    def _first(self, reading: ReformReading) -> ReformReading:
        by_pk = {one.pk: one for one in self.readings}
        while reading.corrects_id in by_pk:
            reading = by_pk[reading.corrects_id]
        return reading

    @cached_property
    def taken(self) -> list[Taken]:
        return [
            Taken(self.minutes_of(self._first(one)), decimal(one.volts), decimal(one.leak_amps)) for one in self.standing_readings
        ]

    @cached_property
    def standing(self) -> Standing:
        return standing_of(self.taken, self.rated_volts, self.advice.limit.amps)

    @property
    def last_seq(self) -> int:
        return self.readings[-1].seq if self.readings else 0


def run_of(reforming: Reforming) -> Run:
    return Run(reforming, list(reforming.readings.select_related("person").order_by("seq")))  # type: ignore[attr-defined]


def runs(*, is_open: bool) -> QuerySet[Reforming]:
    """Runs with all that a list shows of them; open ones oldest first."""
    found = Reforming.objects.filter(ended_at__isnull=is_open).select_related(
        "position__job__radio__model", "lot__part", "started_by", "ended_by"
    )
    return found.prefetch_related("readings").order_by("started_at" if is_open else "-ended_at", "pk")


def open_run_of(position: Position) -> Reforming | None:
    return Reforming.objects.filter(position=position, ended_at=None).first()


@dataclass(frozen=True)
class Reformable:
    """What a position's page says of reforming: its runs, the latest first, and the one that is open."""

    runs: Sequence[Reforming]

    @property
    def running(self) -> Reforming | None:
        return next((run for run in self.runs if run.ended_at is None), None)


def reformable(state: PositionState) -> Reformable | None:
    """None where no electrolytic stands."""
    if not can_be_reformed(state):
        return None
    return Reformable(list(Reforming.objects.filter(position=state.position).select_related("ended_by")))


def marking_of(state: PositionState) -> str:
    """What is in there: found, else called for; empty where neither reads as a capacitor with its voltage."""
    for text in (state.found.text if state.found else "", state.called):
        spec = _read(text)
        if spec is not None and spec.volts:
            return text
    return state.called


def _read(text: str) -> Spec | None:
    try:
        return read_notation(text, "capacitance")
    except NotationError:
        return None


def can_be_reformed(state: PositionState) -> bool:
    """Whether an electrolytic stands here, by role or by size."""
    role = role_of(state.role)
    if role.kind != "capacitance" or role.safety:
        return False
    called = state.called_spec
    return role.polarised == "yes" or (called is not None and is_electrolytic_size(called))
