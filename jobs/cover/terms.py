"""The terms of a warranty: how long each kind of line is covered, from when, what ends the cover, and the law beside them.

Terms are frozen with a warranty as plain data (`as_json`): what the shop promises later says nothing about what it promised then.
Days are calendar days after the day the cover starts on; the last of them counts.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from datetime import date, timedelta
from typing import Any, NamedTuple

LABOUR, NEW_PART, USED_PART = "labour", "new_part", "used_part"
NEW_VALVE, USED_VALVE, OWN_PART = "new_valve", "used_valve", "own_part"
LEFT_IN = "left_in"
KINDS = (LABOUR, NEW_PART, USED_PART, NEW_VALVE, USED_VALVE, OWN_PART)
# Kinds of part that wear as valves do and are guaranteed as they are.
VALVE_KINDS = frozenset({"valve", "transistor"})
NEW = "new"
NOT_COVERED = {
    OWN_PART: "brought by the customer; only the work of fitting it is covered",
    LEFT_IN: "left in as it was; only work done is covered",
}
NO_DAYS = "our terms give this kind no time of its own"


@dataclass(frozen=True, slots=True)
class LawWords:
    """What the law of the place says of faulty work: in plain words, where it stands, how it is known, what to mind."""

    place: str = ""
    text: str = ""
    citation: str = ""
    origin: str = ""
    note: str = ""

    @classmethod
    def from_json(cls, held: Mapping[str, Any]) -> "LawWords":
        return cls(**{one.name: str(held.get(one.name, "")) for one in fields(cls)})


@dataclass(frozen=True, slots=True)
class CoverTerms:
    """`days` by kind of line; 0 or a kind that isn't there: not covered. `start_event`: hand_over, ready or invoice."""

    days: Mapping[str, int]
    start_event: str = "hand_over"
    transfers: bool = True
    void_rules: tuple[str, ...] = ()
    law: LawWords = field(default_factory=LawWords)

    def as_json(self) -> dict[str, Any]:
        return {
            "days": {kind: self.days.get(kind, 0) for kind in KINDS},
            "start_event": self.start_event,
            "transfers": self.transfers,
            "void_rules": list(self.void_rules),
            "law": asdict(self.law),
        }

    @classmethod
    def from_json(cls, held: Mapping[str, Any]) -> "CoverTerms":
        """The terms as they were frozen; an empty mapping (a warranty of before there were terms) covers nothing by itself."""
        days = {kind: int(count) for kind, count in held.get("days", {}).items() if kind in KINDS}
        return cls(
            days={kind: days.get(kind, 0) for kind in KINDS},
            start_event=str(held.get("start_event", "hand_over")),
            transfers=bool(held.get("transfers", True)),
            void_rules=tuple(str(rule) for rule in held.get("void_rules", ())),
            law=LawWords.from_json(held.get("law", {})),
        )


class CoverLine(NamedTuple):
    """`days` and `until_on` (the last day covered) are None where the line isn't covered; `note` then says why."""

    covered: bool
    days: int | None
    until_on: date | None
    note: str


def kind_of(part_kind: str, condition: str, is_own: bool = False) -> str:
    """What kind of line a fitted part is: `part_kind` and `condition` as its card and its lot name them."""
    if is_own:
        return OWN_PART
    if part_kind in VALVE_KINDS:
        return NEW_VALVE if condition == NEW else USED_VALVE
    return NEW_PART if condition == NEW else USED_PART


def line(kind: str, starts_on: date, terms: CoverTerms) -> CoverLine:
    """How a line of this kind is covered by these terms from that day on."""
    days = 0 if kind == LEFT_IN else terms.days.get(kind, 0)
    if days <= 0:
        return CoverLine(False, None, None, NOT_COVERED.get(kind, NO_DAYS))
    return CoverLine(True, days, starts_on + timedelta(days=days), "")
