"""What a claim is judged by, as plain values: the warranty as it was frozen, what was done then, what was found now.

No name of a person is in it, so that it can be kept as long as the books. `as_json` is canonical: the same case in any order of
its lines, findings and places gives the same JSON, and `from_json` gives the case back.
"""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from operator import attrgetter
from typing import Any, TypeVar

from jobs.cover.terms import LABOUR, LawWords

FITTED, REPAIRED, REMOVED, KEPT, OFFERED, UNTOUCHED = "fitted", "repaired", "removed", "kept", "offered", "untouched"
YES, NO, UNSURE = "yes", "no", "unsure"

Row = TypeVar("Row", "Line", "Finding", "Place")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the warranty. `ref` counts from 1; `seq` is the entry of the earlier job's log; `lot` its lot's key."""

    ref: int
    kind: str
    designator: str
    text: str
    covered: bool
    until_on: date | None
    note: str = ""
    seq: int | None = None
    lot: int | None = None
    lot_is_bad: bool = False

    @property
    def is_work(self) -> bool:
        return self.kind == LABOUR

    def runs_on(self, day: date) -> bool:
        """The last day counts, the day after doesn't."""
        return self.covered and self.until_on is not None and day <= self.until_on


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found on the claim. `number` counts from 1; `line` is the `ref` of the line it is about.

    `entry` is the number in the claim's own log that shows it, `entry_stands` whether nothing corrected that since.
    """

    number: int
    text: str
    designator: str = ""
    line: int | None = None
    same_fault: str = UNSURE
    cause: str = "unknown"
    void_rule: str = ""
    entry: int | None = None
    entry_stands: bool = True


@dataclass(frozen=True, slots=True)
class Place:
    """What became of a position in the earlier job, with the number of the entry that says so and why."""

    designator: str
    outcome: str
    seq: int | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class ClaimCase:
    """`holder`: whoever claims holds the warranty; `moved`: the set changed hands since it began."""

    job: str
    claimed_on: date
    starts_on: date
    start_event: str = "hand_over"
    holder: bool = True
    moved: bool = False
    lines: tuple[Line, ...] = ()
    findings: tuple[Finding, ...] = ()
    places: tuple[Place, ...] = ()
    void_rules: tuple[str, ...] = ()
    law: LawWords = field(default_factory=LawWords)

    def line(self, ref: int | None) -> Line | None:
        return next((one for one in self.lines if one.ref == ref), None)

    def place(self, designator: str) -> Place | None:
        return next((one for one in self.places if one.designator == designator), None)

    @property
    def in_order(self) -> "ClaimCase":
        return replace(
            self,
            lines=tuple(sorted(self.lines, key=attrgetter("ref"))),
            findings=tuple(sorted(self.findings, key=attrgetter("number"))),
            places=tuple(sorted(self.places, key=attrgetter("designator"))),
        )

    def as_json(self) -> dict[str, Any]:
        values = asdict(self.in_order)
        values["claimed_on"], values["starts_on"] = self.claimed_on.isoformat(), self.starts_on.isoformat()
        for line in values["lines"]:
            line["until_on"] = line["until_on"].isoformat() if line["until_on"] else None
        return values | {name: list(values[name]) for name in ("lines", "findings", "places", "void_rules")}

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> "ClaimCase":
        """Raises KeyError, TypeError or ValueError where it isn't a case."""
        own = dict(values)
        own["claimed_on"], own["starts_on"] = date.fromisoformat(own["claimed_on"]), date.fromisoformat(own["starts_on"])
        own["lines"] = tuple(Line(**{**one, "until_on": _day(one["until_on"])}) for one in own["lines"])
        own["findings"] = _rows(Finding, own["findings"])
        own["places"] = _rows(Place, own["places"])
        own["void_rules"] = tuple(own["void_rules"])
        own["law"] = LawWords(**own["law"])
        return cls(**own)


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _rows(kind: type[Row], values: Iterable[Mapping[str, Any]]) -> tuple[Row, ...]:
    return tuple(kind(**one) for one in values)
