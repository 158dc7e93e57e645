"""Rules on a resistor's wattage: against what is called for, what it must get rid of, and the warmth around it."""

from collections.abc import Iterator
from decimal import Decimal
from functools import cache

from inventory.components.answers import Question, Reason, number_of, rounded_text, source_of, value_text
from inventory.components.tables import toml_table


def judge_watts(ask: Question) -> Iterator[Reason]:
    offered = ask.offered.watts if ask.offered else None
    called = ask.called.watts if ask.called else None
    if offered is None:
        if called is not None or ask.watts_dissipated is not None:
            text = "Its wattage is not recorded. Make sure it is large enough before you fit it."
            yield Reason("watts_unknown", "warn", text, source_of("power"))
        return
    if called is not None and offered < called:
        text = f"Rated {value_text(offered, 'power')}, below the {value_text(called, 'power')} called for."
        yield Reason("watts", "no", text, source_of("power"))
    if ask.watts_dissipated is not None:
        yield _dissipation(offered, ask.watts_dissipated)
        yield from _derated(ask, offered, ask.watts_dissipated)
    if ask.volts_working is not None:
        yield from _element_volts(ask, offered, ask.volts_working)


def _dissipation(offered: Decimal, dissipated: Decimal) -> Reason:
    rated, hot = value_text(offered, "power"), rounded_text(dissipated, "power")
    if offered < dissipated:
        return Reason("dissipation", "no", f"It must get rid of {hot} and is rated {rated}: it would burn.", source_of("power"))
    wanted = dissipated * number_of("power", "factor")
    if offered < wanted:
        text = (
            f"It must get rid of {hot}; at {rated} it runs hot. {value_text(standard_watts(wanted), 'power')} or more is better."
        )
        return Reason("dissipation", "warn", text, source_of("power"))
    return Reason("dissipation", "yes", f"Rated {rated} for {hot}: at least twice what it must get rid of.", source_of("power"))


def standard_watts(wanted: Decimal) -> Decimal:
    """The smallest standard rating that is at least `wanted` watts; `wanted` itself beyond the largest."""
    return next((size for size in _standard_sizes() if size >= wanted), wanted)


@cache
def _standard_sizes() -> tuple[Decimal, ...]:
    return tuple(map(Decimal, toml_table("inventory.components", "substitution.toml")["power"]["standard_watts"]))


def _derated(ask: Question, offered: Decimal, dissipated: Decimal) -> Iterator[Reason]:
    if ask.ambient_celsius is None:
        return
    left = offered * derating_share(ask.technology, ask.ambient_celsius)
    if left < dissipated <= offered:
        text = f"At {ask.ambient_celsius:.0f} °C around it only {rounded_text(left, 'power')} of its rating is left"
        text += f", and it must get rid of {rounded_text(dissipated, 'power')}."
        yield Reason("derating", "warn", text, source_of("ambient"))


def derating_share(technology: str, ambient_celsius: Decimal) -> Decimal:
    """The share of its rating, 0 to 1, that a resistor keeps in that warmth. From memory: may caution, never refuse."""
    full = number_of("ambient", "full_celsius")
    known = technology in ("carbon_composition", "metal_oxide", "wirewound")
    most = number_of("ambient", technology if known else "usual_celsius")
    return min(max((most - ambient_celsius) / (most - full), Decimal(0)), Decimal(1))


@cache
def _elements() -> tuple[tuple[Decimal, Decimal], ...]:
    rows = toml_table("inventory.components", "substitution.toml")["power"]["element_volts"]
    return tuple((Decimal(watts), Decimal(volts)) for watts, volts in rows)


def _element_volts(ask: Question, offered: Decimal, working: Decimal) -> Iterator[Reason]:
    """Small resistors flash over before they burn: the volts across one are limited whatever its value."""
    marked = ask.offered.volts if ask.offered else None
    limit = marked or next((volts for watts, volts in _elements() if offered <= watts), None)
    if limit is not None and working > limit:
        text = f"A {value_text(offered, 'power')} resistor bears about {value_text(limit, 'voltage')} across it, and here are "
        text += f"{rounded_text(working, 'voltage')}. Take a larger one, or two in series."
        yield Reason("element_volts", "warn", text, source_of("power", "element_source"))
