"""Output valves: how much heat plate and screen may get rid of, and what the sheet calls usual. Data in output_valves.csv."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import MappingProxyType

from inventory.components.tables import csv_table
from inventory.components.valves import equivalent, family, names_in_common, plain_type

Rows = list[Mapping[str, str]]
_MILLI = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Limit:
    """Most watts an electrode may get rid of. A limit that is `only_remembered` may caution, never condemn."""

    watts: Decimal
    source: str
    only_remembered: bool = False


@dataclass(frozen=True, slots=True)
class Usual:
    """A working point that the valve's sheet gives, volts and amps. Triodes have no screen: `screen_amps` is 0."""

    plate_volts: Decimal
    grid_volts: Decimal | None
    plate_amps: Decimal
    screen_amps: Decimal
    source: str

    @property
    def cathode_amps(self) -> Decimal:
        return self.plate_amps + self.screen_amps

    @property
    def screen_fraction(self) -> Decimal:
        """The share of the cathode current that goes to the screen."""
        return self.screen_amps / self.cathode_amps


@dataclass(frozen=True, slots=True)
class OutputValve:
    """What is known of a type; None and an empty tuple where nothing is."""

    type: str
    plate_limit: Limit | None = None
    screen_limit: Limit | None = None
    usual: tuple[Usual, ...] = ()

    def nearest(self, plate_volts: Decimal) -> Usual | None:
        """The sheet's working point nearest to this plate voltage."""
        return min(self.usual, key=lambda point: abs(point.plate_volts - plate_volts), default=None)


def _decimal(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def _usual(row: Mapping[str, str]) -> Usual:
    screen = _decimal(row["screen_ma"]) or Decimal(0)
    return Usual(
        Decimal(row["plate_volts"]),
        _decimal(row["grid_volts"]),
        Decimal(row["plate_ma"]) * _MILLI,
        screen * _MILLI,
        row["source"],
    )


def _limit(rows: Rows, column: str) -> Limit | None:
    """What was read counts before what is remembered."""
    given = sorted((row for row in rows if row[column]), key=lambda row: row["origin"] == "memory")
    return Limit(Decimal(given[0][column]), given[0]["source"], given[0]["origin"] == "memory") if given else None


@cache
def _rows() -> Mapping[str, Rows]:
    """The rows of each family, in the table's order."""
    found: dict[str, Rows] = {}
    for row in csv_table("jobs.bench.output_stage", "output_valves.csv"):
        found.setdefault(family(row["type"]), []).append(row)
    return MappingProxyType(found)


def _groups(name: str) -> tuple[Rows, Rows]:
    """Rows of the very type and of its bare family name, then those of its other envelopes, which may bear more or less."""
    listed, near = _rows().get(family(name), []), (plain_type(name), family(name))
    own = [row for row in listed if plain_type(row["type"]) in near]
    return own, [row for row in listed if row not in own]


def _same_as(name: str) -> tuple[Rows, Rows]:
    """The rows of a type that is the same under another name."""
    for other in names_in_common().get(plain_type(name), ()):
        found = equivalent(name, other)
        if found is not None and found.how == "same" and any(groups := _groups(other)):
            return groups
    return [], []


def output_valve(name: str) -> OutputValve | None:
    """What the table knows of a type (6V6-GT, 6BQ5, "ECL82 (pentode)"), or None."""
    wanted = name[:60].partition("(")[0].strip()
    if not plain_type(wanted):
        return None
    own, other = _groups(wanted)
    if not own and not other:
        own, other = _same_as(wanted)
    if not own and not other:
        return None
    usual = [_usual(row) for row in own if row["plate_ma"]] or [_usual(row) for row in other if row["plate_ma"]]
    plate, screen = (_limit(own, column) or _limit(other, column) for column in ("plate_watts", "screen_watts"))
    return OutputValve(wanted, plate, screen, tuple(usual))
