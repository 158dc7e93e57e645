"""How a reading by colour is said: one phrase a place, one sentence a marking, one sentence a refusal."""

from collections.abc import Sequence

from inventory.components.colours.names import NONE, in_words
from inventory.components.colours.schemes import VOLTS, Form, Place, Table
from inventory.components.specs import Spec
from inventory.components.writing import write_value

_COUNTED_AT_A_GLANCE = 6
_FRACTIONS = {-3: "× 0.001", -2: "× 0.01", -1: "× 0.1", 0: "× 1"}


def phrases(form: Form, colours: Sequence[str], spec: Spec) -> list[str]:
    """One phrase a colour: `red 2`, `gold × 0.1`, `brown green 1500 V`; then what is understood without a mark."""
    placed = list(zip(form.places, colours, strict=True))
    said = [_of_place(place, colour) for place, colour in placed if place.table.says != VOLTS]
    volts = [colour for place, colour in placed if place.table.says == VOLTS]
    if spec.volts is not None:
        said.append(f"{' '.join(one for one in volts if one != NONE) or 'no mark'} {write_value(spec.volts, 'voltage')}")
    if form.tolerance is not None:
        said.append(f"no mark ±{form.tolerance} %")
    return [one for one in said if one]


def _of_place(place: Place, colour: str) -> str:
    means = said_by(place.table, colour)
    return f"{'no mark' if colour == NONE else colour} {means}" if means else ""


def said_by(table: Table, colour: str) -> str:
    """What a colour of the table says, with its unit; "" where a bare place says nothing."""
    said = table.colours[colour]
    match table.says:
        case "zeros":
            return _zeros(int(said))
        case "tolerance":
            return f"±{said} %"
        case "temperature":
            return f"{said} ppm/K"
        case "hundreds of volts":
            return _hundreds(table, said)
        case "characteristic":
            return f"characteristic {said}" if said else ""
        case "mark":
            return f"for {said}"
    return said


def _hundreds(table: Table, said: str) -> str:
    if not said:
        return ""
    return f"figure {said}" if table.name == "second_volts" else f"{said}00 V"


def _zeros(count: int) -> str:
    return _FRACTIONS.get(count) or (f"× {10**count:,}" if count <= _COUNTED_AT_A_GLANCE else f"and {count} zeros")


def sentence(title: str, said: Sequence[str]) -> str:
    """`4 bands: red 2, violet 7, gold × 0.1, gold ±5 %.`"""
    return f"{title[0].upper()}{title[1:]}: {in_words(said)}."


def refused_place(place: Place, colour: str, marks: str) -> str:
    """Why a colour can't stand in a place, and which can."""
    return refused(place.name, colour, tuple(place.table.colours), marks)


def refused(place: str, colour: str, usable: Sequence[str], marks: str) -> str:
    """As `refused_place`, where the usable colours come of several tables."""
    accepted = f"{in_words(one for one in usable if one != NONE)}{', or none' if NONE in usable else ''}"
    if colour == NONE:
        return f"{place}: a {marks} is missing here. Name its colour: {accepted}."
    return f"{place}: {colour} says nothing here. Use {accepted}."
