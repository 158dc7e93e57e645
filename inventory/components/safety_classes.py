"""Safety classes of capacitors on the line, after IEC 60384-14: which may stand where, and which may stand in for which."""

from dataclasses import dataclass
from functools import cache, lru_cache

from inventory.components.tables import toml_table

_ORDER = {"yes": 0, "warn": 1, "no": 2}


@dataclass(frozen=True, slots=True)
class ClassRule:
    """One class. `line_to_line`, `line_to_chassis`: yes, warn or no; of one letter a higher `rank` is stronger."""

    code: str
    rank: int
    line_to_line: str
    line_to_chassis: str
    source: str
    note: str = ""

    def level(self, place: str) -> str:
        """The answer for a place: "line_to_line" or "line_to_chassis"."""
        return self.line_to_line if place == "line_to_line" else self.line_to_chassis


@cache
def class_rules() -> dict[str, ClassRule]:
    """Every known class by its code."""
    rows = toml_table("inventory.components", "substitution.toml")["safety_class"]
    return {row["code"]: ClassRule(**row) for row in rows}


@lru_cache(maxsize=256)
def known_classes(marking: str | None) -> tuple[ClassRule, ...]:
    """The classes in a marking such as "X1/Y2"."""
    return tuple(class_rules()[code] for code in (marking or "")[:40].upper().split("/") if code in class_rules())


@lru_cache(maxsize=256)
def best_for(marking: str | None, place: str) -> ClassRule | None:
    """Of a combined marking, the class that does best at `place`; None when nothing is marked."""
    return min(known_classes(marking), key=lambda rule: (_ORDER[rule.level(place)], -rule.rank), default=None)


@lru_cache(maxsize=512)
def weaker_than(offered: str | None, called: str | None) -> bool:
    """Whether a part is marked weaker than the position calls for: X where Y is called, or a lower rank of the same letter."""
    wanted, given = known_classes(called), known_classes(offered)
    return any(not any(_covers(one, need) for one in given) for need in wanted)


def _covers(offered: ClassRule, needed: ClassRule) -> bool:
    if offered.code[0] == needed.code[0]:
        return offered.rank >= needed.rank
    return offered.code[0] == "Y" and offered.rank >= needed.rank
