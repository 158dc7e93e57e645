"""What is asked of a part at one position: the called-for value and everything around it that the rules look at."""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple, Protocol

from inventory.components.notation import NotationError, Spec, read_notation
from inventory.components.substitution import Answer, Candidate, judge_substitute
from inventory.models import Kind, Part
from jobs.models import Job
from jobs.queries.sheet import PositionState

VALUED = (Kind.RESISTOR, Kind.CAPACITOR, Kind.INDUCTOR)
TYPED = (Kind.VALVE, Kind.TRANSISTOR, Kind.LAMP)
_SECTIONS = re.compile(r"\d\s*[-–+/]\s*[\d.]")


class PartLike(Protocol):
    """A part, or the card of one: what judging looks at."""

    @property
    def kind(self) -> str: ...
    @property
    def value_si(self) -> float | None: ...
    @property
    def tolerance_low(self) -> float | None: ...
    @property
    def tolerance_high(self) -> float | None: ...
    @property
    def volts(self) -> float | None: ...
    @property
    def watts(self) -> float | None: ...
    @property
    def technology(self) -> str: ...
    @property
    def safety_class(self) -> str: ...
    @property
    def polarised(self) -> bool: ...
    @property
    def marking(self) -> str: ...


def _decimal(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(repr(value))


def spec_of(part: PartLike) -> Spec | None:
    """The part's value and ratings as its card gives them; None for what has no value."""
    value = _decimal(part.value_si)
    if value is None or part.kind not in VALUED:
        return None
    low, high = _decimal(part.tolerance_low), _decimal(part.tolerance_high)
    return Spec(
        kind=part.kind,
        value=value,
        tolerance_percent=None if low is None or high is None else (low, high),
        volts=_decimal(part.volts),
        watts=_decimal(part.watts),
        safety_class=part.safety_class or None,
        sections=_sections_of(part),
        text=part.marking,
    )


def _sections_of(part: PartLike) -> tuple[Decimal, ...]:
    """A can of several sections is one card; its marking alone names them all."""
    if part.kind != Kind.CAPACITOR or not _SECTIONS.search(part.marking):
        return ()
    try:
        return read_notation(part.marking, part.kind).sections
    except NotationError:
        return ()


def candidate_of(part: PartLike) -> Candidate:
    return Candidate(
        spec=spec_of(part),
        kind=part.kind,
        technology=part.technology,
        polarised=part.polarised,
        valve_type=part.marking if part.kind in TYPED else "",
        label=part.marking,
    )


class Working(NamedTuple):
    """What the position bears in this set, where readings tell it."""

    volts: Decimal | None = None
    watts: Decimal | None = None


UNKNOWN = Working()


def working_of(state: PositionState) -> Working:
    return UNKNOWN


@dataclass(frozen=True, slots=True)
class Asked:
    """One position with everything around it that its rules look at; parts are judged against it one by one."""

    role: str
    called: Spec | None
    called_type: str = ""
    rectifier: str = ""
    supply: str = ""
    working: Working = UNKNOWN

    def answer(self, part: PartLike) -> Answer:
        return judge_substitute(
            self.role,
            self.called,
            candidate_of(part),
            called_type=self.called_type,
            rectifier=self.rectifier,
            volts_working=self.working.volts,
            watts_dissipated=self.working.watts,
            supply=self.supply,
        )


def rectifier_of(job: Job) -> str:
    """The rectifier's type as the job's own list names it, for the reservoir rule; empty where none is listed."""
    found = job.positions.filter(role="rectifier_valve").exclude(called="").first()
    return found.called if found else ""


def asked_of(state: PositionState, job: Job) -> Asked:
    return Asked(
        state.role,
        state.called_spec,
        "" if state.called_spec else state.called,
        rectifier_of(job) if state.role == "reservoir" else "",
        job.radio.model.supply_kind,
        working_of(state),
    )


def answer_for(state: PositionState, part: Part, job: Job) -> Answer:
    """Will this part do at this position? The same function answers on the sheet and when fitting."""
    return asked_of(state, job).answer(part)
