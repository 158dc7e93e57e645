"""What may happen when a part at a position fails, by the position's role. Data in part_risks.toml, each row with its source."""

from dataclasses import dataclass
from functools import cache

from inventory.components.tables import toml_table

DANGER, MAY_FAIL, HARMLESS = "danger", "may_fail", "harmless"
GRADES = (DANGER, MAY_FAIL, HARMLESS)
WORDS = {DANGER: "Danger", MAY_FAIL: "May fail", HARMLESS: "Harmless"}
MARKS = {DANGER: "no", MAY_FAIL: "warn", HARMLESS: "note"}
# A role that the table doesn't know is told as one that nobody wrote down.
UNTOLD = "other"


@dataclass(frozen=True, slots=True)
class Risk:
    """`grade` is one of GRADES, `words` a sentence for whoever owns the set."""

    grade: str
    words: str
    source: str

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return GRADES.index(self.grade)

    @property
    def word(self) -> str:
        return WORDS[self.grade]

    @property
    def mark(self) -> str:
        return MARKS[self.grade]

    @property
    def is_danger(self) -> bool:
        return self.grade == DANGER


@cache
def _by_role() -> dict[str, Risk]:
    rows = toml_table("jobs.bench", "part_risks.toml")["risk"]
    return {role: Risk(row["grade"], row["words"], row["source"]) for row in rows for role in row["roles"]}


def risk_of(role: str) -> Risk:
    return _by_role().get(role) or _by_role()[UNTOLD]
