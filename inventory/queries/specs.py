"""The card of a part as the rules see it: its value, its ratings, and the sections of a can."""

import re
from decimal import Decimal
from typing import Protocol

from inventory.components.notation import NotationError, Spec, read_notation
from inventory.components.substitution import Candidate
from inventory.models import Kind

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
        sections=sections_of(part),
        text=part.marking,
    )


def sections_of(part: PartLike) -> tuple[Decimal, ...]:
    """A can of several sections is one card; its marking alone names them all."""
    return sections_in(part.kind, part.marking)


def sections_in(kind: str, marking: str) -> tuple[Decimal, ...]:
    if kind != Kind.CAPACITOR or not _SECTIONS.search(marking):
        return ()
    try:
        return read_notation(marking, kind).sections
    except NotationError:
        return ()


def candidate_of(part: PartLike) -> Candidate:
    return Candidate(
        spec=spec_of(part),
        kind=part.kind,
        technology=part.technology,
        polarised=part.polarised,
        valve_type=part.marking if part.kind not in VALUED else "",
        label=part.marking,
    )
