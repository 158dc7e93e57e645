"""Which figures may be meant as sheets of about 1925 to 1945 wrote them, when nobody knows what sheet they come from.

Those sheets wrote M (the Roman thousand) for thousand ohms, and a few of their makers a lone ohm sign for megohm. Asking about
every M and every ohm sign would ask about things nobody doubts: a figure that came into use after those sheets speaks for itself.
"""

from decimal import Decimal
from functools import cache
from typing import Any

from inventory.components.preferred import figures
from inventory.components.tables import toml_table
from inventory.components.units import LONE_OMEGA, THOUSAND_OHMS, Meaning


@cache
def _limits() -> dict[str, Any]:
    rows = toml_table("inventory.components", "units.toml")["old_sheet"]
    return {
        "megohms": Decimal(rows["preferred_megohms_up_to"]),
        "lone": frozenset(Decimal(one) for one in rows["lone_omega_megohms"]),
    }


@cache
def _preferred() -> frozenset[Decimal]:
    return frozenset(figures("E12"))


def may_be_thousands(figure: Decimal, word: str) -> bool:
    """Whether `figure` before an M may count thousands: 50M and 500 M may, 1M, 2.2 M and .5 M don't; with a small omega any."""
    if "ω" in word:
        return True
    if figure < 1:
        return False
    modern = figure.scaleb(-figure.adjusted()) in _preferred() and figure <= _limits()["megohms"]
    return not modern


def may_be_megohms(figure: Decimal) -> bool:
    """Whether `figure` before a lone ohm sign may count megohms: the grid leaks of the time."""
    return figure in _limits()["lone"]


def plausible(meaning: Meaning, figure: Decimal, word: str, alone: bool) -> bool:
    """Whether `word` after `figure` may mean that. `alone`: no rating beside it, as those sheets gave none."""
    if meaning is THOUSAND_OHMS:
        return may_be_thousands(figure, word)
    return meaning is not LONE_OMEGA or (alone and may_be_megohms(figure))
