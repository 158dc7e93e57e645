"""Cautions that go with a set: what may hurt, by its supply, its year and what it holds. Data in hazards.toml."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.components.tables import toml_table

SUPPLY_KINDS = ("transformerless", "transformer", "battery", "vibrator")
DEFERENCE = "These are reminders of the trade. Local codes and licensed practice come first."


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution as printed on sheets and summaries."""

    code: str
    title: str
    text: str
    source: str


def cautions(
    supply_kind: str, *, year: int | None, has_valves: bool, features: frozenset[str] = frozenset()
) -> tuple[Caution, ...]:
    """The cautions for one set, gravest first. An unknown year or supply kind hides nothing.

    `features` names what was found: luminous_paint, mercury_rectifier, picture_tube, or the code of a caution to show regardless.
    """
    rows = toml_table("jobs.bench", "hazards.toml")["caution"]
    return tuple(
        Caution(row["code"], row["title"], row["text"], row["source"])
        for row in rows
        if row["code"] in features or _applies(row, supply_kind, year, has_valves, features)
    )


def _applies(row: Mapping[str, Any], supply_kind: str, year: int | None, has_valves: bool, features: frozenset[str]) -> bool:
    if "feature" in row:
        return row["feature"] in features
    if "supply" in row and supply_kind in SUPPLY_KINDS and supply_kind not in row["supply"]:
        return False
    if row.get("valves") and not has_valves:
        return False
    return year is None or row.get("from", year) <= year <= row.get("until", year)
