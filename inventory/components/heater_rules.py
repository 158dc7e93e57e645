"""Rules on a substitute valve's heater: in a chain across the line, or on the transformer's heater winding."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from inventory.components.answers import Question, Reason, rounded_text, source_of
from inventory.components.heaters import LONGEST_CHAIN, Heater, chain, common_amps, fits, heater_of
from inventory.components.line_rules import usual_lines
from inventory.components.valves import plain_type


def judge_heaters(ask: Question, called: str, offered: str) -> Iterator[Reason]:
    """Compares the heaters of two different types. Figures from memory caution, read ones refuse."""
    old, new = heater_of(called), heater_of(offered)
    if old is None or new is None:
        if ask.supply == "transformerless":
            missing = called if old is None else offered
            text = f"The heater of {missing[:20]} is not on file. In a series chain it must draw the chain's current: look it up."
            yield Reason("heater_unknown", "warn", text, source_of("heater"))
        return
    if ask.supply == "transformerless":
        yield from _in_series(ask, called, old, new)
    else:
        yield from _in_parallel(old, new)


def _level(*heaters: Heater) -> str:
    return "warn" if any(one.from_memory for one in heaters) else "no"


def _in_series(ask: Question, called: str, old: Heater, new: Heater) -> Iterator[Reason]:
    others = [one for one in (heater_of(name) for name in ask.chain[:LONGEST_CHAIN]) if one is not None]
    amps = common_amps(others) if others else old.amps
    if not fits(new.amps, amps):
        text = f"Its heater draws {rounded_text(new.amps, 'current')}, and the chain carries {rounded_text(amps, 'current')}: "
        text += "it would starve." if new.amps > amps else "it would burn out."
        yield Reason("heater_current", _level(old, new), text, new.source)
    elif not fits(new.volts, old.volts):
        yield Reason("heater_volts", _level(old, new), _sum_text(ask, called, old, new), new.source)


def _sum_text(ask: Question, called: str, old: Heater, new: Heater) -> str:
    changed = f"Its heater takes {rounded_text(new.volts, 'voltage')} in place of {rounded_text(old.volts, 'voltage')}"
    types = _exchanged(ask.chain[:LONGEST_CHAIN], called, new)
    if not types:
        return f"{changed}: every other heater of the chain would get the difference."
    line = ask.line_volts or usual_lines()[0][0]
    result = chain(types, line)
    if result.dropper_volts <= 0:
        return f"{changed}: the chain becomes {result.sum_text}, and the line gives {rounded_text(line, 'voltage')}."
    ohms, watts = rounded_text(result.dropper_ohms, "resistance"), rounded_text(result.dropper_watts, "power")
    left = f"{rounded_text(result.dropper_volts, 'voltage')} ({ohms}, {watts})"
    return f"{changed}: the chain becomes {result.sum_text}; the dropper must then take {left}."


def _exchanged(types: Sequence[str], called: str, new: Heater) -> list[str | Heater]:
    """The chain with the new valve in the called one's place; empty where the called one is not in it."""
    wanted = plain_type(called)
    place = next((place for place, name in enumerate(types) if plain_type(name) == wanted), None)
    return [] if place is None else [*types[:place], new, *types[place + 1 :]]


def _in_parallel(old: Heater, new: Heater) -> Iterator[Reason]:
    if not fits(new.volts, old.volts):
        text = (
            f"Its heater wants {rounded_text(new.volts, 'voltage')}, and the one called for {rounded_text(old.volts, 'voltage')}."
        )
        yield Reason("heater_volts", _level(old, new), text, new.source)
    elif new.amps > old.amps * Decimal("1.05"):
        more = rounded_text(new.amps - old.amps, "current")
        text = f"Its heater draws {more} more than the one called for: make sure the heater winding bears it."
        yield Reason("heater_current", "warn", text, source_of("heater", "shared_source"))
