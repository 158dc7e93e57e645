"""The schemes of colours.toml as frozen shapes: which places a marking has, and what each colour says there."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from inventory.components.colours.faults import ColourError
from inventory.components.colours.names import NONE, in_words
from inventory.components.tables import toml_table

VOLTS = "hundreds of volts"


@dataclass(frozen=True, slots=True)
class Table:
    """What colours say in a place. `says`: figure, zeros, tolerance, temperature, hundreds of volts, characteristic or mark."""

    name: str
    says: str
    colours: Mapping[str, str]
    doubt: Mapping[str, str]
    source: str
    origin: str

    def colour_of(self, said: str) -> str | None:
        """The first colour that says this."""
        return next((colour for colour, meaning in self.colours.items() if meaning == said), None)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a colour stands. It may be bare where its table knows "none"."""

    name: str
    table: Table

    @property
    def may_be_bare(self) -> bool:
        return NONE in self.table.colours


@dataclass(frozen=True, slots=True)
class Doubt:
    """What else these colours may mean in the place of that name."""

    place: str
    colours: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Form:
    """One way a scheme is laid out. `first` names the colours in the first place that tell it from the scheme's other forms.

    `tolerance` (percent) and `volts` are implied where no place says them; `volts_below` are steps of (value in the scheme's
    own unit, volts). `doubt` is said beside a reading with one of those colours in that place.
    """

    title: str
    places: tuple[Place, ...]
    first: tuple[str, ...]
    tolerance: Decimal | None
    volts: Decimal | None
    volts_below: tuple[tuple[Decimal, Decimal], ...]
    doubt: Doubt | None

    @property
    def least(self) -> int:
        """How many colours there must be at least: bare places at the end need not be named."""
        return max((number for number, place in enumerate(self.places, 1) if not place.may_be_bare), default=0)

    @property
    def figures(self) -> int:
        return sum(place.table.says == "figure" for place in self.places)


@dataclass(frozen=True, slots=True)
class Scheme:
    """A marking by colour. It counts in 10 to the `exponent` of the SI base unit; `largest` is in that base unit."""

    name: str
    title: str
    kind: str
    exponent: int
    largest: Decimal
    marks: str
    drawn: str
    leading_nought: bool
    turned: str
    hint: str
    source: str
    origin: str
    forms: tuple[Form, ...]
    positions: tuple[str, ...]
    example: tuple[str, ...]

    @property
    def most(self) -> int:
        return max(len(form.places) for form in self.forms)

    @property
    def least(self) -> int:
        return min(form.least for form in self.forms)

    def tables_at(self, number: int) -> tuple[Table, ...]:
        """What the colour in a position (from 0) may say, over all forms that reach so far."""
        return tuple(form.places[number].table for form in self.forms if number < len(form.places))

    def may_be_bare(self, number: int) -> bool:
        """Whether a position (from 0) may be without colour in some form."""
        ends = self.turned == "ends" and number > 0
        return ends or number >= self.least or any(NONE in table.colours for table in self.tables_at(number))


def scheme_names() -> tuple[str, ...]:
    """The names that `scheme_named` knows."""
    return tuple(_file()["scheme"])


@cache
def _schemes() -> Mapping[str, Scheme]:
    tables = {name: _table(name, row) for name, row in _file()["table"].items()}
    return {name: _scheme(name, row, tables) for name, row in _file()["scheme"].items()}


def scheme_named(name: str) -> Scheme:
    """Raises ColourError "unknown" for a name that colours.toml does not have."""
    found = _schemes().get(name)
    if found is None:
        raise ColourError("unknown", f"“{name[:40]}” is no marking by colour. Use {in_words(scheme_names())}.")
    return found


def _file() -> dict[str, Any]:
    return toml_table("inventory.components.colours", "colours.toml")


def _table(name: str, row: Mapping[str, Any]) -> Table:
    return Table(name, row["says"], row["colours"], row.get("doubt", {}), row["source"], row["origin"])


def _scheme(name: str, row: Mapping[str, Any], tables: Mapping[str, Table]) -> Scheme:
    forms = tuple(_form(form, tables) for form in row["form"])
    positions = tuple(row.get("positions") or (place.name for place in forms[0].places))
    plain = {key: row[key] for key in Scheme.__slots__ if key in row and key not in ("largest", "positions", "example")}
    largest, example = Decimal(row["largest"]), tuple(row["example"])
    return Scheme(name=name, forms=forms, positions=positions, largest=largest, example=example, **plain)


def _form(row: Mapping[str, Any], tables: Mapping[str, Table]) -> Form:
    return Form(
        title=row["title"],
        places=tuple(Place(title, tables[table]) for title, table in row["places"]),
        first=tuple(row.get("first", ())),
        tolerance=_number(row.get("tolerance_percent")),
        volts=_number(row.get("volts")),
        volts_below=tuple((Decimal(limit), Decimal(volts)) for limit, volts in row.get("volts_below", ())),
        doubt=_doubt(row["doubt"]) if "doubt" in row else None,
    )


def _doubt(row: Mapping[str, Any]) -> Doubt:
    return Doubt(row["place"], tuple(row["colours"]), row["text"])


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
