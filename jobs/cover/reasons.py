"""What a judgement says: the proposal, and its reasons in a repairer's words: for cover, against it, open, or to be known."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

COVERED, PARTLY, CHARGEABLE = "covered", "partly", "chargeable"
FOR, AGAINST, OPEN, NOTE = "for", "against", "open", "note"
OWN_TERMS = "the terms of the warranty, frozen when it began"
THE_LOG = "the change log"
PRACTICE = "common practice, no source"
WORK = ""
"""The place that stands for the work of the job."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One sentence. `about`: its position, or empty; `finding`: its number; `seq`: the entry of the earlier job's log."""

    code: str
    level: str
    sentence: str
    about: str = ""
    source: str = OWN_TERMS
    finding: int | None = None
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class CoveredAt:
    """A place at which nothing is charged, or `share` per cent less; `WORK` for the work of the job."""

    designator: str
    share: int = 100


@dataclass(frozen=True, slots=True)
class Proposal:
    """An answer by what is known now. While something `is_open` it isn't ripe: what can't be told doesn't count as covered."""

    rules: str
    answer: str
    reasons: tuple[Reason, ...]
    places: tuple[CoveredAt, ...] = ()

    @property
    def is_open(self) -> bool:
        return any(one.level == OPEN for one in self.reasons)

    def about(self, finding: int | None) -> tuple[Reason, ...]:
        return tuple(one for one in self.reasons if one.finding == finding)

    def as_json(self) -> dict[str, Any]:
        reasons, places = [asdict(one) for one in self.reasons], [asdict(one) for one in self.places]
        return {"rules": self.rules, "answer": self.answer, "reasons": reasons, "places": places}

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> "Proposal":
        reasons = tuple(Reason(**one) for one in values["reasons"])
        return cls(values["rules"], values["answer"], reasons, tuple(CoveredAt(**one) for one in values["places"]))


def levels(reasons: Iterable[Reason]) -> frozenset[str]:
    return frozenset(one.level for one in reasons)


def day(on: date) -> str:
    """`3 May 2026`"""
    return f"{on.day} {on:%B %Y}"


def days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
