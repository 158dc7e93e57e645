"""The roles a position can have. A role decides which rules a substitute must meet; the numbers are in roles.toml."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import MappingProxyType
from typing import Any

from inventory.components.specs import Band
from inventory.components.tables import toml_table

LONGEST_ROLE = 120


class UnknownRole(ValueError):
    """Nothing that roles.toml has. `code` is always "unknown"; `message` says what would be accepted."""

    code = "unknown"

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


@dataclass(frozen=True, slots=True)
class Role:
    """What a part does. `kind` is resistance, capacitance, winding, valve, lamp or other.

    `safety` is line_to_line, line_to_chassis or ""; `touchable` where a person may touch what the part bridges.
    `window_percent` and `limit_percent` are signed bands around the value called for: inside the window is well, outside
    the limit is refused. `heater_dropper` marks what stands in series with the valves' heaters.
    """

    code: str
    label: str
    kind: str
    safety: str
    window_percent: Band | None
    source: str
    limit_percent: Band | None = None
    polarised: str = "no"
    rectifier_limited: bool = False
    materials: frozenset[str] = frozenset()
    cautioned_materials: frozenset[str] = frozenset()
    refused_materials: frozenset[str] = frozenset()
    also: tuple[str, ...] = ()
    touchable: bool = False
    heater_dropper: bool = False

    @property
    def place(self) -> str:
        """The label in the middle of a sentence, without what stands in brackets."""
        label = self.label.split(" (")[0]
        return label if label[:2].isupper() else label[0].lower() + label[1:]


def _band(row: Mapping[str, Any], key: str) -> Band | None:
    return (Decimal(row[key][0]), Decimal(row[key][1])) if key in row else None


def _role(row: Mapping[str, Any]) -> Role:
    return Role(
        code=row["code"],
        label=row["label"],
        kind=row["kind"],
        safety=row.get("safety", ""),
        window_percent=_band(row, "window_percent"),
        source=row["source"],
        limit_percent=_band(row, "limit_percent"),
        polarised=row.get("polarised", "no"),
        rectifier_limited=row.get("rectifier_limited", False),
        materials=frozenset(row.get("materials", ())),
        cautioned_materials=frozenset(row.get("cautioned_materials", ())),
        refused_materials=frozenset(row.get("refused_materials", ())),
        also=tuple(row.get("also", ())),
        touchable=row.get("touchable", False),
        heater_dropper=row.get("heater_dropper", False),
    )


ROLES: Mapping[str, Role] = MappingProxyType(
    {row["code"]: _role(row) for row in toml_table("inventory.components", "roles.toml")["role"]}
)


def role(code: str) -> Role:
    """The role of that code; UnknownRole otherwise."""
    found = ROLES.get(code)
    if found is None:
        raise UnknownRole(f"{code[:40]!r} is not a role; use one of {', '.join(ROLES)}.")
    return found


def find_role(text: str) -> Role:
    """The role a person names: by code, label or another of the trade's names, alone or within a description.

    "First filter, 5U4-G" is a reservoir. Of several names within a text the longest counts. UnknownRole where none fits.
    """
    wanted = _plain(text[:LONGEST_ROLE])
    code = _names().get(wanted) or _named_within(wanted)
    if code is None:
        raise UnknownRole(f"{text[:40]!r} is not a role; use one of {', '.join(ROLES)}.")
    return ROLES[code]


def _plain(text: str) -> str:
    """Small letters and figures, each word apart by one space."""
    return " ".join("".join(one if one.isalnum() else " " for one in text.casefold()).split())


@cache
def _names() -> Mapping[str, str]:
    """Every name of every role; codes and labels first, so that no other name can take their place."""
    names: dict[str, str] = {}
    for names_of in (lambda one: (one.code, one.label, one.label.split("(")[0]), lambda one: one.also):
        for one in ROLES.values():
            for name in names_of(one):
                names.setdefault(_plain(name), one.code)
    return names


@cache
def _telling_names() -> tuple[tuple[str, str], ...]:
    """Names that tell the role also in the middle of a text, the longest first. "Valve" tells too little there."""
    vague = {
        "other",
        "other part",
        "coil",
        "switch",
        "resistor",
        "capacitor",
        "valve",
        "tube",
        "rectifier",
        "diode",
        "transistor",
    }
    vague |= {"oscillator", "tuning", "tone", "volume", "fuse", "speaker", "choke", "electrolytic", "selenium", "tank", "trimmer"}
    return tuple(
        sorted(((f" {name} ", code) for name, code in _names().items() if name not in vague), key=lambda one: -len(one[0]))
    )


def _named_within(wanted: str) -> str | None:
    spaced = f" {wanted} "
    return next((code for name, code in _telling_names() if name in spaced), None)
