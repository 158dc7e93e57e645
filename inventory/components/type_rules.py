"""Rules for parts that are called for by type: valves, metal rectifiers, fuses, lamps and the rest."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache

from inventory.components.answers import Question, Reason, number_of, rounded_text, source_of, value_text, volts_text
from inventory.components.heater_rules import judge_heaters
from inventory.components.tables import toml_table
from inventory.components.valves import equivalent, is_solid_state, plain_type

_LONGEST_TYPE = 40


def judge_valve(ask: Question) -> Iterator[Reason]:
    offered, called = ask.candidate.valve_type[:_LONGEST_TYPE], ask.called_type[:_LONGEST_TYPE]
    if not plain_type(called):
        text = "The service data does not say which valve is called for. Enter its type first."
        yield Reason("called_unknown", "warn", text, source_of("called"))
    elif not plain_type(offered):
        yield Reason("valve_type", "no", f"{called} is called for and this part has no valve type on record.", source_of("valve"))
    elif plain_type(called) == plain_type(offered):
        yield Reason("valve_type", "yes", f"{offered} is the type called for.", source_of("valve"))
    elif ask.role.code == "rectifier_valve" and is_solid_state(offered) and not is_solid_state(called):
        yield _solid_for_valve(ask, called)
    else:
        yield _valve_equivalent(called, offered)
        yield from judge_heaters(ask, called, offered)


def _solid_for_valve(ask: Question, called: str) -> Reason:
    text = f"{called} warms up with the other valves and drops some volts; a diode puts the full peak on every capacitor at once"
    text += ", and leaves the heater chain a gap." if ask.supply == "transformerless" else ", and B+ stays higher."
    return Reason("valve_type", "no", text, source_of("valve"))


def _valve_equivalent(called: str, offered: str) -> Reason:
    found = equivalent(called, offered)
    if found is None:
        text = f"{called} is called for, and {offered} is not listed as its equivalent."
        return Reason("valve_type", "no", text, source_of("valve"))
    if found.how == "same" and not found.from_memory:
        return Reason("valve_type", "yes", f"{offered} is another name of {called}.", found.source)
    note = f" ({found.note})" if found.note else ""
    words = {"same": "is given as another name of", "near": "comes near", "base": "has the data of but not the base of"}[
        found.how
    ]
    ending = " From memory: compare the data sheets." if found.from_memory else " The socket must be changed or adapted."
    return Reason("valve_type", "warn", f"{offered} {words} {called}{note}.{ending}", found.source)


def judge_metal_rectifier(ask: Question) -> Iterator[Reason]:
    """A silicon diode in a selenium stack's place, or another stack."""
    offered = ask.candidate.valve_type[:_LONGEST_TYPE] or ask.candidate.label[:_LONGEST_TYPE]
    if "selen" in offered.casefold():
        text = "Selenium ages on the shelf too, and its fumes are poisonous when it fails. Rather fit a silicon "
        yield Reason("selenium", "warn", f"{text}diode with a series resistor.", source_of("metal_rectifier"))
        return
    if not (is_solid_state(offered) or ask.candidate.kind == "transistor"):
        yield Reason(
            "kind",
            "no",
            f"The {ask.role.place} is replaced by a silicon diode with a series resistor.",
            source_of("metal_rectifier"),
        )
        return
    text = "A silicon diode drops less than the stack did: put a resistor in series that brings B+ back to the sheet's volts and "
    text += "tames the surge at switch-on. Take the old stack out whole; its fumes and dust are poisonous."
    yield Reason("series_resistor", "warn", text, source_of("metal_rectifier"))
    yield from _peak_inverse(ask, offered)


@cache
def _diodes() -> Mapping[str, tuple[Decimal, str]]:
    rows = toml_table("inventory.components", "substitution.toml")["diode"]
    return {plain_type(row["type"]): (Decimal(row["volts"]), row["source"]) for row in rows}


def _peak_inverse(ask: Question, offered: str) -> Iterator[Reason]:
    marked = ask.offered.volts if ask.offered is not None and ask.offered.volts is not None else None
    bears, source = _diodes().get(plain_type(offered), (marked, source_of("metal_rectifier", "peak_inverse_source")))
    if bears is None or ask.line_volts is None or ask.supply != "transformerless":
        return
    needed = ask.line_volts * number_of("metal_rectifier", "peak_inverse_factor")
    level = "warn" if bears < needed else "yes"
    text = f"It bears {volts_text(bears)} in reverse; on this line {rounded_text(needed, 'voltage')} is the least."
    yield Reason("peak_inverse", level, text, source)


def judge_fuse(ask: Question) -> Iterator[Reason]:
    """Never larger than called for: a fuse that doesn't blow protects nothing."""
    called, offered = ask.called, ask.offered
    if called is None or offered is None or called.kind != "current" or offered.kind != "current":
        yield from judge_other_part(ask)
        return
    has, wanted = value_text(offered.value, "current"), value_text(called.value, "current")
    if offered.value > called.value:
        text = f"{has} is more than the {wanted} called for: it would let the transformer or the wiring burn first."
        yield Reason("fuse", "no", text, source_of("fuse"))
    elif offered.value < called.value:
        text = f"{has} is less than the {wanted} called for: it is safe, but may blow at switch-on."
        yield Reason("fuse", "warn", text, source_of("fuse"))
    else:
        yield Reason("fuse", "yes", f"{has} is what is called for; take the same kind, quick or slow.", source_of("fuse"))


def judge_other_part(ask: Question) -> Iterator[Reason]:
    called, offered = plain_type(ask.called_type), plain_type(ask.candidate.valve_type)
    if called and called == offered:
        yield Reason("type", "yes", f"{ask.candidate.valve_type[:_LONGEST_TYPE]} is the type called for.", source_of("called"))
        return
    if ask.offered is not None and ask.deviation is not None and abs(ask.deviation) <= 10:
        text = f"{value_text(ask.offered.value, ask.offered.kind)} is what is called for."
        yield Reason("value", "yes", text, source_of("called"))
        return
    text = f"No rule judges a {ask.role.place} by its marking. Compare it with the service data yourself."
    yield Reason("judge_yourself", "warn", text, source_of("called"))
