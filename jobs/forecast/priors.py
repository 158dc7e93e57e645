"""What is usual in the trade before the shop has jobs of its own: the rows of priors.toml, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from inventory.components.tables import toml_table


@dataclass(frozen=True, slots=True)
class RolePrior:
    """`price_minutes` is in minutes of work at the shop's rate, `measure_minutes` the time that it takes to know its state."""

    code: str
    chance: float
    strength: float
    price_minutes: float
    measure_minutes: float
    origin: str
    source: str


@dataclass(frozen=True, slots=True)
class StepPrior:
    """`minutes` in the middle, `spread` the standard deviation of their logarithm, `often` the share of jobs that need it."""

    code: str
    minutes: float
    spread: float
    often: float
    origin: str
    source: str


@dataclass(frozen=True, slots=True)
class ReservePrior:
    """`claims` in `days` of warranty; a comeback costs `cost_share` of its job, `spread` on the logarithm."""

    claims: float
    days: float
    cost_share: float
    strength: float
    spread: float
    freedom: float
    source: str


def table() -> dict[str, Any]:
    return toml_table("jobs.forecast", "priors.toml")


@cache
def figures(name: str) -> Mapping[str, float]:
    """The numbers of the section `name`."""
    return MappingProxyType(
        {key: float(value) for key, value in table()[name].items() if key not in ("source", "shares", "weights")}
    )


@cache
def role_priors() -> Mapping[str, RolePrior]:
    rows = table()["role"]
    return MappingProxyType(
        {
            row["code"]: RolePrior(
                row["code"],
                float(row["chance"]),
                float(row["strength"]),
                float(row["price"]),
                float(row["measure"]),
                row["origin"],
                row["source"],
            )
            for row in rows
        }
    )


def role_prior(code: str) -> RolePrior:
    """That of the role; a role that has no row is judged like "other"."""
    rows = role_priors()
    return rows.get(code) or rows["other"]


@cache
def step_priors() -> Mapping[str, StepPrior]:
    rows = table()["step"]
    return MappingProxyType(
        {
            row["code"]: StepPrior(
                row["code"], float(row["minutes"]), float(row["spread"]), float(row["often"]), row["origin"], row["source"]
            )
            for row in rows
        }
    )


def step_prior(code: str) -> StepPrior:
    rows = step_priors()
    return rows.get(code) or rows["other"]


@cache
def family_shifts() -> Mapping[str, float]:
    return MappingProxyType({row["code"]: float(row["shift"]) for row in table()["family"]})


@cache
def reserve_prior() -> ReservePrior:
    row = table()["warranty"]
    return ReservePrior(
        claims=float(row["claims"]),
        days=float(row["days"]),
        cost_share=float(row["cost_share"]),
        strength=float(row["strength"]),
        spread=float(row["spread"]),
        freedom=float(row["freedom"]),
        source=row["source"],
    )
