"""From a value to the colours that mark it. What can't be marked is refused, with the nearest value that can."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from inventory.components.colours.faults import ColourError
from inventory.components.colours.names import NONE, in_words
from inventory.components.colours.schemes import VOLTS, Form, Place, Scheme, scheme_named
from inventory.components.specs import Band
from inventory.components.writing import write_value

Number = Decimal | float | int
_FIGURES_KEPT = 12
_LARGEST_POWER = 40
_NEVER_WRITTEN = ("mark", "characteristic")


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is to be marked; `value` in the scheme's own unit, the rest None where it is not to be marked."""

    value: Decimal
    tolerance: Decimal | None
    volts: Decimal | None
    ppm: Decimal | None


def colours_for(
    value: Number,
    kind: str,
    tolerance_percent: Number | Band | None = None,
    scheme: str = "iec60062",
    bands: int | None = None,
    *,
    volts: Number | None = None,
    temperature_ppm: Number | None = None,
) -> tuple[str, ...]:
    """The colours of a value in SI base units (ohm, F), in the order of the scheme's places, "none" for a bare place.

    `read_colours` of them gives the value back. Without a tolerance the marking bears none, which reads as ±20 %. `bands` asks
    for a number of places; otherwise the form with the fewest is taken. Raises ColourError, nothing else, for any number.
    """
    one = scheme_named(scheme)
    if kind != one.kind:
        raise ColourError("unreadable", f"{one.title} mark a {one.kind}, not a {kind[:40]}.")
    exact = _exact(value, one)
    wanted = _Wanted(exact, _tolerance(tolerance_percent), _decimal(volts, "voltage"), _decimal(temperature_ppm, "coefficient"))
    forms = list(_forms(one, bands, wanted))
    written = next((colours for form in forms if (colours := _written(one, form, wanted))), None)
    if written is None:
        raise _refusal(one, forms, wanted)
    return written


def _forms(scheme: Scheme, bands: int | None, wanted: _Wanted) -> Iterator[Form]:
    """Those that can be written at all: nobody can say the characteristic of a dielectric from its value."""
    usable = [form for form in scheme.forms if not any(place.table.says in _NEVER_WRITTEN for place in form.places)]
    fitting = [form for form in usable if bands is None or len(form.places) == bands]
    if not fitting:
        counts = sorted({len(form.places) for form in usable})
        raise ColourError("unreadable", f"{scheme.title} have {' or '.join(map(str, counts))} places.")
    for form in fitting:
        says = {place.table.says for place in form.places}
        if bands is not None or ("temperature" in says) == (wanted.ppm is not None):
            yield form


def _written(scheme: Scheme, form: Form, wanted: _Wanted) -> tuple[str, ...]:
    """Empty where this form can't mark what is wanted."""
    digits = _figures(scheme, form, wanted.value)
    if digits is None:
        return ()
    figures, zeros = digits
    queues = {"figure": figures, "zeros": [str(zeros)], VOLTS: _volts(form, wanted.volts)}
    colours = [
        _next_colour(place, queues[place.table.says]) if place.table.says in queues else _rated(place, wanted)
        for place in form.places
    ]
    if not _implied(form, wanted) or any(colour is None for colour in colours):
        return ()
    return tuple(str(colour) for colour in colours)


def _next_colour(place: Place, queue: list[str]) -> str | None:
    """The colour for what is next to be said here; bare where that says the same."""
    said = queue.pop(0) if queue else None
    return None if said is None else NONE if place.table.colours.get(NONE) == said else place.table.colour_of(said)


def _figures(scheme: Scheme, form: Form, value: Decimal) -> tuple[list[str], int] | None:
    """The figures, one text each, and the zeros; None where the value has more figures than the form."""
    digits = "".join(map(str, value.normalize().as_tuple().digits))
    if len(digits) > form.figures:
        return None
    zeros = value.adjusted() - form.figures + 1
    padded = digits.ljust(form.figures, "0")
    table = next(place.table for place in form.places if place.table.says == "zeros")
    if scheme.leading_nought and table.colour_of(str(zeros)) is None and padded.endswith("0"):
        padded, zeros = f"0{padded[:-1]}", zeros + 1
    return list(padded), zeros


def _rated(place: Place, wanted: _Wanted) -> str | None:
    """The colour of a tolerance or a temperature coefficient; "none" where the place is to stay bare and may."""
    number = wanted.tolerance if place.table.says == "tolerance" else wanted.ppm
    if number is None:
        return NONE if place.may_be_bare else None
    fitting = [colour for colour, said in place.table.colours.items() if Decimal(said) == number]
    return NONE if NONE in fitting else fitting[0] if fitting else None


def _volts(form: Form, volts: Decimal | None) -> list[str]:
    """What each place for hundreds of volts has to say, in order."""
    places = [place.table for place in form.places if place.table.says == VOLTS]
    if not places:
        return []
    if volts is None:
        return [table.colours[NONE] for table in places]
    hundreds = format((volts / 100).normalize(), "f")
    return [hundreds, ""][: len(places)] if len(places) == 1 or len(hundreds) == 1 else list(hundreds[:3])


def _implied(form: Form, wanted: _Wanted) -> bool:
    """Whether what the form leaves unsaid agrees with what is wanted."""
    says = {place.table.says for place in form.places}
    tolerance_fits = "tolerance" in says or wanted.tolerance in (None, form.tolerance)
    volts_fit = VOLTS in says or wanted.volts in (None, form.volts)
    return tolerance_fits and volts_fit and ("temperature" in says or wanted.ppm is None)


def _exact(value: Number, scheme: Scheme) -> Decimal:
    """In the scheme's own unit, at most 12 figures: a float's last digits are dust."""
    exact = _decimal(value, "value") or Decimal(0)
    least = Decimal(1).scaleb(scheme.exponent - 2)
    if not least <= exact <= scheme.largest:
        raise ColourError(
            "out_of_range",
            f"{scheme.title} mark values from {write_value(least, scheme.kind)} to {write_value(scheme.largest, scheme.kind)}.",
        )
    return round(exact, _FIGURES_KEPT - 1 - exact.adjusted()).scaleb(-scheme.exponent)


def _decimal(number: Number | None, what: str) -> Decimal | None:
    if number is None:
        return None
    if isinstance(number, int) and number.bit_length() > 4 * _LARGEST_POWER:
        number = Decimal("Infinity")  # to write out all its digits would take long
    try:
        exact = Decimal(repr(number)) if isinstance(number, float) else Decimal(number)
    except InvalidOperation:
        exact = Decimal("NaN")
    if not exact.is_finite() or abs(exact.adjusted()) > _LARGEST_POWER:
        raise ColourError("out_of_range", f"The {what} is no number that a part can have.")
    return exact


def _tolerance(percent: Number | Band | None) -> Decimal | None:
    low, high = percent if isinstance(percent, tuple) else (None, percent)
    wanted, other = _decimal(high, "tolerance"), _decimal(low, "tolerance")
    if wanted is not None and other is not None and other != -wanted:
        raise ColourError("unreadable", "Colours mark a tolerance that is the same both ways, such as ±10 %.")
    return wanted


def _refusal(scheme: Scheme, forms: list[Form], wanted: _Wanted) -> ColourError:
    """Says what stands in the way: the tolerance, the voltage, or too many figures, with the nearest that can be marked."""
    figures = max(form.figures for form in forms) if forms else 0
    digits = len(wanted.value.normalize().as_tuple().digits)
    if digits <= figures:
        return ColourError("unreadable", _unmarkable(scheme, forms, wanted))
    near = round(wanted.value, figures - 1 - wanted.value.adjusted())
    shown = write_value(near.scaleb(scheme.exponent), scheme.kind)
    full = write_value(wanted.value.scaleb(scheme.exponent), scheme.kind)
    count = {2: "two", 3: "three"}[figures]
    colours = next((found for form in forms if (found := _written(scheme, form, _near(wanted, near)))), None)
    how = f" ({in_words(colours)})" if colours else ""
    return ColourError("unreadable", f"{full} needs more than {count} figures. The nearest that can be marked is {shown}{how}.")


def _near(wanted: _Wanted, value: Decimal) -> _Wanted:
    return _Wanted(value, wanted.tolerance, wanted.volts, wanted.ppm)


def _unmarkable(scheme: Scheme, forms: list[Form], wanted: _Wanted) -> str:
    usable = _tolerances(forms)
    if wanted.tolerance is not None and wanted.tolerance not in usable:
        return f"A tolerance of ±{wanted.tolerance:f} % has no colour here. Use {in_words(f'±{one} %' for one in usable)}."
    value = write_value(wanted.value.scaleb(scheme.exponent), scheme.kind)
    return (
        f"{scheme.title} have no colours for {value} with what else is asked. "
        "Name another tolerance or number of places, or leave out the voltage."
    )


def _tolerances(forms: list[Form]) -> list[Decimal]:
    """Every tolerance that one of the forms marks or implies, percent."""
    tables = [place.table for form in forms for place in form.places if place.table.says == "tolerance"]
    marked = {Decimal(said) for table in tables for said in table.colours.values()}
    return sorted(marked | {form.tolerance for form in forms if form.tolerance is not None})
