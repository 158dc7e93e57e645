"""The roles a position can have. A role decides which rules a substitute must meet; the numbers are in roles.toml."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from inventory.components.specs import Band
from inventory.components.tables import toml_table


class UnknownRole(KeyError):
    """A role code that roles.toml does not have."""


@dataclass(frozen=True, slots=True)
class Role:
    """What a part does. `kind` is resistance, capacitance, winding, valve, lamp or other.

    `safety` is line_to_line, line_to_chassis or "". `window_percent` and `limit_percent` are signed bands around the
    value called for: inside the window is well, outside the limit is refused.
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
    )


ROLES: Mapping[str, Role] = MappingProxyType(
    {row["code"]: _role(row) for row in toml_table("inventory.components", "roles.toml")["role"]}
)


def role(code: str) -> Role:
    """The role of that code; UnknownRole otherwise."""
    if code not in ROLES:
        raise UnknownRole(f"{code[:40]!r} is not a role; use one of {', '.join(ROLES)}.")
    return ROLES[code]
