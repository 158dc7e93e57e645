"""Reads a marking by colour, place by place.

Rules that are not obvious:

- The order given is the reading. What the same colours would say from the other end is only mentioned; where the order given says
  nothing and the other does, the refusal names it.
- A bare place at the end is as good as not named: four bands with "none" last are three bands.
- The figures and zeros are exact Decimals; nothing is rounded.
- Where sources disagree, one rule for the whole table is kept, and the other source is said beside the reading (`doubt`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.components.colours import ends
from inventory.components.colours.faults import ColourError
from inventory.components.colours.names import NONE, all_named, in_words
from inventory.components.colours.schemes import VOLTS, Form, Scheme, scheme_named
from inventory.components.colours.wording import phrases, refused, refused_place, sentence
from inventory.components.preferred import figures, series_names
from inventory.components.specs import Reading, Spec
from inventory.components.writing import write_spec, write_value


@dataclass(frozen=True, slots=True)
class Marking:
    """What a marking says. `colours` by their own names, "none" for a bare place; `temperature_ppm` per kelvin.

    `why` is one sentence that goes through the colours; each of `notes` is a further one that a careful reader would add.
    """

    spec: Spec
    scheme: str
    form: str
    colours: tuple[str, ...]
    why: str
    notes: tuple[str, ...] = ()
    temperature_ppm: Decimal | None = None
    characteristic: str = ""


def read_colours(scheme: str, colours: Sequence[str | None]) -> Spec:
    """The value of a marking by colour: SI base units, signed (low, high) percent, volts where the marking says them.

    `scheme` is one of `scheme_names()`, `colours` in the order of its places, in any writing that `named` knows.
    Any text gives a Spec or raises ColourError, nothing else. Source of each table: colours.toml.
    """
    return read_marking(scheme, colours).spec


def read_marking(scheme: str, colours: Sequence[str | None]) -> Marking:
    """As `read_colours`, with the reasons, the temperature coefficient and the dielectric's characteristic."""
    one = scheme_named(scheme)
    given = _without_bare_tail(all_named(colours))
    try:
        marking = _read(one, given)
    except ColourError as fault:
        raise _with_turned(fault, one, given) from None
    return _with_other_way(marking, one)


def series_of(value: Decimal) -> str:
    """The coarsest preferred series (IEC 60063) that has the value, or "" for none."""
    if value <= 0:
        return ""
    first = value.scaleb(-value.adjusted())
    return next((series for series in series_names() if first in figures(series)), "")


def _read(scheme: Scheme, given: tuple[str, ...]) -> Marking:
    form = _form_for(scheme, given)
    notes: tuple[str, ...] = ()
    colours = (*given, *(NONE,) * (len(form.places) - len(given)))
    if scheme.turned == "ends":
        colours, notes = ends.filled(given)
        if ends.either_end(given):
            raise _which_end(scheme, form, colours)
    return _marking(scheme, form, colours, notes)


def _form_for(scheme: Scheme, given: tuple[str, ...]) -> Form:
    """The scheme's layout for this first colour, then for this many colours."""
    if not given:
        raise ColourError("unreadable", f"No colour is named. {_how_many(scheme)}")
    if len(given) > scheme.most:
        raise ColourError("too_long", f"{len(given)} colours are too many. {_how_many(scheme)}")
    told = [form for form in scheme.forms if not form.first or given[0] in form.first]
    if not told:
        usable = [colour for form in scheme.forms for colour in form.first]
        raise ColourError("unreadable", refused(scheme.forms[0].places[0].name, given[0], usable, scheme.marks))
    fitting = [form for form in told if _least(scheme, form) <= len(given) <= len(form.places)]
    if not fitting:
        raise ColourError("unreadable", f"Named {len(given)} of the colours, which is too few. {_how_many(scheme)}")
    return fitting[0]


def _least(scheme: Scheme, form: Form) -> int:
    """The fewest colours: of a resistor with a body the body alone may be painted."""
    return 1 if scheme.turned == "ends" else form.least


def _marking(scheme: Scheme, form: Form, colours: tuple[str, ...], notes: tuple[str, ...]) -> Marking:
    said: dict[str, list[str]] = {}
    for place, colour in zip(form.places, colours, strict=True):
        if colour not in place.table.colours:
            raise ColourError("unreadable", refused_place(place, colour, scheme.marks))
        said.setdefault(place.table.says, []).append(place.table.colours[colour])
    spec = _spec(scheme, form, said, colours)
    ppm = said.get("temperature")
    return Marking(
        spec=spec,
        scheme=scheme.name,
        form=form.title,
        colours=colours,
        why=sentence(form.title, phrases(form, colours, spec)),
        notes=(*notes, *_doubts(form, colours)),
        temperature_ppm=Decimal(ppm[0]) if ppm else None,
        characteristic=said.get("characteristic", [""])[0],
    )


def _spec(scheme: Scheme, form: Form, said: dict[str, list[str]], colours: tuple[str, ...]) -> Spec:
    digits = "".join(said["figure"])
    if digits[0] == "0" and not scheme.leading_nought:
        raise ColourError("unreadable", "First figure: black says nothing here, as no value begins with a nought.")
    if not digits.strip("0"):
        raise ColourError("unreadable", "All figures are black, and that is no value. Look at the colours again in good light.")
    in_unit = Decimal(digits).scaleb(int(said["zeros"][0]))
    value = in_unit.scaleb(scheme.exponent)
    if value > scheme.largest:
        raise ColourError(
            "out_of_range",
            f"These colours would say {write_value(value, scheme.kind)}, more than is made "
            f"({write_value(scheme.largest, scheme.kind)} at most). Look at the colour for the zeros again.",
        )
    tolerance = Decimal(said["tolerance"][0]) if "tolerance" in said else form.tolerance
    band = None if tolerance is None else (-tolerance, tolerance)
    return Spec(scheme.kind, value, band, _volts(form, said, in_unit), text=in_words(colours))


def _volts(form: Form, said: dict[str, list[str]], in_unit: Decimal) -> Decimal | None:
    hundreds = "".join(said.get(VOLTS, []))
    if hundreds:
        return Decimal(hundreds) * 100
    return next((volts for limit, volts in form.volts_below if in_unit < limit), form.volts)


def _doubts(form: Form, colours: tuple[str, ...]) -> list[str]:
    placed = list(zip(form.places, colours, strict=True))
    doubts = [place.table.doubt[colour] for place, colour in placed if colour in place.table.doubt]
    here = form.doubt
    if here and any(place.name == here.place and colour in here.colours for place, colour in placed):
        doubts.append(here.text)
    return doubts


def _without_bare_tail(colours: tuple[str, ...]) -> tuple[str, ...]:
    while colours and colours[-1] == NONE:
        colours = colours[:-1]
    return colours


def _how_many(scheme: Scheme) -> str:
    least = min(_least(scheme, form) for form in scheme.forms)
    many = f"{least}" if least == scheme.most else f"{least} to {scheme.most}"
    return f"{scheme.title}: name {many} colours. {scheme.hint}"


def _which_end(scheme: Scheme, form: Form, colours: tuple[str, ...]) -> ColourError:
    """Both ends are painted as figures: either may be the second one."""
    ways = []
    for ordered in (colours, ends.swapped(colours)):
        spec = _marking(scheme, form, (*ordered[:3], NONE), ()).spec
        ways.append(Reading(spec, f"if the {ordered[1]} end is the second figure"))
    first, second = (write_spec(way.spec) for way in ways)
    message = (
        f"Both ends bear a figure's colour: {first} by the {colours[1]} end, {second} by the {colours[3]} end. "
        "Name as the other end only gold, silver or none, or measure it."
    )
    return ColourError("ambiguous", message, tuple(ways))


def _turned(scheme: Scheme, given: tuple[str, ...]) -> tuple[str, ...]:
    if scheme.turned == "backwards":
        return _without_bare_tail(given[::-1])
    return ends.swapped(given) if scheme.turned == "ends" else given


def _with_turned(fault: ColourError, scheme: Scheme, given: tuple[str, ...]) -> ColourError:
    """The refusal, with what the same colours say the other way round where that can be read."""
    other = _turned(scheme, given)
    if fault.code != "unreadable" or other == given:
        return fault
    try:
        spec = _read(scheme, other).spec
    except ColourError:
        return fault
    message = f"{fault.message} From the other end it reads {in_words(other)}: {write_spec(spec)}."
    return ColourError("unreadable", message, turned=other)


def _with_other_way(marking: Marking, scheme: Scheme) -> Marking:
    """Mentions the other direction where it, too, gives a preferred value."""
    other = _turned(scheme, marking.colours)
    if scheme.turned != "backwards" or other == marking.colours:
        return marking
    try:
        spec = _read(scheme, other).spec
    except ColourError:
        return marking
    if spec.value == marking.spec.value or not series_of(spec.value):
        return marking
    note = f"From the other end it would read {write_spec(spec)}. Taken here as given, from left to right: measure if in doubt."
    return replace(marking, notes=(*marking.notes, note))
