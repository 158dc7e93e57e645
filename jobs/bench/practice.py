"""How far a reading may lie from the value called for, where neither the sheet nor the person gives a tolerance."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.components.roles import ROLES
from inventory.components.specs import Band
from inventory.components.tables import toml_table
from jobs.bench.problems import BenchError

LEAST, MOST = Decimal(-100), Decimal(1000)
# Common practice, no source: what is off by more than a fifth is replaced.
USUAL_PERCENT = Decimal(20)


@dataclass(frozen=True, slots=True)
class PracticeRow:
    """The shop's own rule. `role` a code of roles.toml or "" for any, `goal` a customer's goal or "" for any; signed percent."""

    role: str
    goal: str
    band: Band


@dataclass(frozen=True, slots=True)
class Picked:
    """The band that counts, signed percent, and where it comes from as the end of a sentence: "by the shop's practice"."""

    band: Band
    words: str


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What is usual in the trade, for the owner to take over or leave."""

    role: str
    goal: str
    band: Band
    why: str
    source: str


def practice_band(value: Decimal | Band) -> Band:
    """A signed band of percent from one number (either way) or two (low, high); BenchError `out_of_range` where none can be."""
    low, high = value if isinstance(value, tuple) else (-value, value)
    if not (low.is_finite() and high.is_finite()) or not LEAST <= low <= 0 <= high <= MOST:
        raise BenchError(
            "out_of_range",
            f"A tolerance of {_figure(low)} to {_figure(high)} % can't be. Give a percentage like 20, or two such as -20 and 80: "
            f"from {LEAST} up to 0, and from 0 up to {MOST}.",
        )
    return low, high


def _figure(value: Decimal) -> str:
    return f"{value:.6g}"


def usual_practice(role: str, percent: Decimal | Band | None = None, words: str = "by shop practice") -> Picked:
    """The practice where no row of the shop's own fits: the percentage given, else what is usual: ±30 % of windings, ±20 %."""
    if percent is None and role in ROLES and ROLES[role].kind == "winding":
        return Picked(winding_band(), "as windings of the same sheet differ")
    return Picked(practice_band(USUAL_PERCENT if percent is None else percent), words)


def pick_practice(rows: Iterable[PracticeRow], role: str, goal: str, usual_percent: Decimal, goal_words: str = "") -> Picked:
    """The narrowest row that fits: role and goal, then role, then goal; then the usual for windings; then the shop's figure."""
    fitting = [row for row in rows if row.role in ("", role) and row.goal in ("", goal) and (row.role or row.goal)]
    if fitting:
        best = max(fitting, key=lambda row: (bool(row.role), bool(row.goal)))
        return Picked(best.band, _words(best, goal_words))
    is_winding = role in ROLES and ROLES[role].kind == "winding"
    return usual_practice(role, None if is_winding else usual_percent, "by the shop's practice")


def _words(row: PracticeRow, goal_words: str) -> str:
    place = f" for {ROLES[row.role].label.lower()}" if row.role in ROLES else ""
    goal = f" where the goal is {goal_words.lower() or row.goal}" if row.goal else ""
    return f"by the shop's practice{place}{goal}"


def winding_band() -> Band:
    """Usual spread of a winding's DC resistance around the service data's. Source: limits.toml."""
    spread = Decimal(_limits()["winding"]["spread_percent"])
    return -spread, spread


def suggestions() -> list[Suggestion]:
    """Usual practices of the trade, each with its source."""
    return [
        Suggestion(row["role"], row["goal"], (Decimal(row["low"]), Decimal(row["high"])), row["why"], row["source"])
        for row in _limits()["usual_practice"]
    ]


def _limits() -> dict[str, Any]:
    return toml_table("jobs.bench", "limits.toml")
