"""The picker of colours, and the form for the way back. Both are sent by GET: what was chosen is in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from urllib.parse import urlencode

from django import forms

from inventory.components.colours.faults import ColourError
from inventory.components.colours.names import NONE, colour_names, named
from inventory.components.colours.reading import Marking, read_marking
from inventory.components.colours.schemes import VOLTS, Scheme, Table
from inventory.components.colours.wording import said_by
from inventory.components.colours.writing import colours_for
from inventory.components.notation import NotationError, Reading, Spec, read_notation
from inventory.forms.readings import RatingField
from shop.web.forms import NotationField

MOST_IN_NARROW = 7


@dataclass(frozen=True)
class Swatch:
    """One colour to choose: `says` is what it means here, empty where that hangs on the other places."""

    colour: str
    says: str
    chosen: bool


@dataclass(frozen=True)
class Place:
    """A group of swatches; `name` is that of its radio buttons and of the query's word."""

    name: str
    title: str
    number: int
    swatches: tuple[Swatch, ...]

    @property
    def is_wordy(self) -> bool:
        """Whether what a swatch says needs more room than a narrow one has."""
        return max(len(one.says) for one in self.swatches) > MOST_IN_NARROW


class Picker:
    """What an address chooses of a scheme's colours, and what that says. Anything in the address is answered."""

    def __init__(self, scheme: Scheme, query: Mapping[str, str]) -> None:
        self.scheme = scheme
        self.given = tuple(query.get(f"c{number}", "") for number in range(1, scheme.most + 1))

    @property
    def is_begun(self) -> bool:
        return any(self.given)

    @cached_property
    def colours(self) -> tuple[str, ...]:
        """Each by its own name; what is no colour counts as bare here, and is refused by `fault`."""
        return tuple(_named_or_bare(one) for one in self.given)

    @cached_property
    def answer(self) -> Marking | ColourError:
        try:
            return read_marking(self.scheme.name, self.given)
        except ColourError as fault:
            return fault

    @property
    def marking(self) -> Marking | None:
        return self.answer if self.is_begun and isinstance(self.answer, Marking) else None

    @property
    def fault(self) -> ColourError | None:
        return self.answer if self.is_begun and isinstance(self.answer, ColourError) else None

    @property
    def turned(self) -> str:
        """The query of the same colours the other way round, where that can be read."""
        return query_of(self.scheme, self.fault.turned) if self.fault and self.fault.turned else ""

    def places(self) -> list[Place]:
        return [self._place(number) for number in range(self.scheme.most)]

    def _place(self, number: int) -> Place:
        tables = self.scheme.tables_at(number)
        usable = {colour for table in tables for colour in table.colours}
        colours = [colour for colour in colour_names() if colour in usable]
        if self.scheme.may_be_bare(number):
            colours.append(NONE)
        chosen = self.colours[number] if self.is_begun else ""
        if chosen not in ("", NONE, *colours):
            colours.append(chosen)  # it says nothing here, but it was chosen, and is refused in words
        swatches = tuple(Swatch(colour, _says(tables, colour), colour == chosen) for colour in colours)
        return Place(f"c{number + 1}", self.scheme.positions[number], number + 1, swatches)


def _says(tables: tuple[Table, ...], colour: str) -> str:
    """What the colour says where all forms agree."""
    meanings = {said_by(table, colour) if colour in table.colours else "" for table in tables}
    return meanings.pop() if len(meanings) == 1 else ""


def _named_or_bare(text: str) -> str:
    try:
        return named(text)
    except ColourError:
        return NONE


def query_of(scheme: Scheme, colours: tuple[str, ...]) -> str:
    """`scheme=iec60062&c1=red&…`: the address of a marking on the picker's page."""
    chosen = {f"c{number}": colour for number, colour in enumerate(colours, 1)}
    return urlencode({"scheme": scheme.name, **chosen})


class ValueForm(forms.Form):
    """A value, and how exactly the part keeps it, to be marked in a scheme's colours."""

    value = NotationField(label="Value")
    tolerance = forms.ChoiceField(label="Tolerance", required=False)
    volts = RatingField(label="Voltage", quantity="voltage")

    def __init__(self, scheme: Scheme, query: Mapping[str, str]) -> None:
        super().__init__(query if "value" in query else None, label_suffix="")
        self.scheme = scheme
        self.readings: tuple[Reading, ...] = ()
        self.colours: tuple[str, ...] = ()
        self.fields["tolerance"].choices = _tolerances(scheme)  # type: ignore[attr-defined]
        self.fields["value"].help_text = "As you would write it, such as " + (
            "4K7." if scheme.kind == "resistance" else "250 pF."
        )
        if not _says_anywhere(scheme, VOLTS):
            del self.fields["volts"]

    def clean_value(self) -> Spec:
        try:
            return read_notation(self.cleaned_data["value"], self.scheme.kind)
        except NotationError as error:
            self.readings = error.readings
            raise forms.ValidationError(error.message, code=error.code) from error

    def clean(self) -> None:
        if self.errors:
            return
        spec, tolerance = self.cleaned_data["value"], self.cleaned_data["tolerance"]
        volts = self.cleaned_data.get("volts")
        wanted = Decimal(tolerance) if tolerance else spec.tolerance_percent
        try:
            self.colours = colours_for(spec.value, spec.kind, wanted, self.scheme.name, volts=volts or None)
        except ColourError as fault:
            self.add_error("value", forms.ValidationError(fault.message, code=fault.code))

    @property
    def query(self) -> str:
        return query_of(self.scheme, self.colours)


def _says_anywhere(scheme: Scheme, what: str) -> bool:
    return any(place.table.says == what for form in scheme.forms for place in form.places)


def _tolerances(scheme: Scheme) -> list[tuple[str, str]]:
    """What the scheme's colours can mark, widest first."""
    tables = [place.table for form in scheme.forms for place in form.places if place.table.says == "tolerance"]
    said = sorted({Decimal(one) for table in tables for colour, one in table.colours.items() if colour != NONE}, reverse=True)
    return [("", "none marked"), *((str(one), f"±{one} %") for one in said)]
