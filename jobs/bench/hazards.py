"""Cautions that go with a set: what may hurt, by its supply, its year and what it holds. Data in hazards.toml."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.components.tables import toml_table

SUPPLY_KINDS = ("transformerless", "transformer", "battery", "vibrator")
# Beyond it a text is not searched: it would take long, and no line-up is as long.
MOST_SAID = 4000
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

    `features` names what was found (`features_in`): luminous_paint, mercury_rectifier, picture_tube, or a caution's own code.
    """
    rows = toml_table("jobs.bench", "hazards.toml")["caution"]
    return tuple(
        Caution(row["code"], row["title"], row["text"], row["source"])
        for row in rows
        if row["code"] in features or _applies(row, supply_kind, year, has_valves, features)
    )


def features_in(texts: Iterable[str], lineup: str = "") -> frozenset[str]:
    """What notes and findings, or the types of a line-up, name that has a caution of its own: luminous paint, selenium, an 83.

    Words of the trade and types of valve, from hazards.toml. A word too many shows a caution too many, never one too few.
    """
    types, said = _folded(lineup), f"{_folded(' '.join(texts))} {_folded(lineup)}"
    rows = toml_table("jobs.bench", "hazards.toml")["caution"]
    return frozenset(
        row.get("feature", row["code"]) for row in rows if _says(said, row.get("words", ())) or _says(types, row.get("types", ()))
    )


def _folded(text: str) -> str:
    return " ".join(text[:MOST_SAID].lower().split())


def _says(text: str, words: Iterable[str]) -> bool:
    return any(re.search(rf"(?<![a-z0-9]){re.escape(word.lower())}(?![a-z0-9])", text) for word in words)


def _applies(row: Mapping[str, Any], supply_kind: str, year: int | None, has_valves: bool, features: frozenset[str]) -> bool:
    if "feature" in row:
        return row["feature"] in features
    if "supply" in row and supply_kind in SUPPLY_KINDS and supply_kind not in row["supply"]:
        return False
    if row.get("valves") and not has_valves:
        return False
    return year is None or row.get("from", year) <= year <= row.get("until", year)
