"""Rules on what stands in series with the heaters: resistance cords and ballasts. A plain cord there burns the valves out."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import Question, Reason, rounded_text, source_of, value_text
from inventory.components.heaters import LONGEST_CHAIN, ChainResult, chain, heater_of
from inventory.components.valves import plain_type

_ASBESTOS = "The old one's insulation may be asbestos: don't strip, cut or bend it dry, bag it, and follow the local rules."


def judge_not_a_resistor(ask: Question) -> Iterator[Reason]:
    """What is no resistor never takes the place of one that feeds the heaters; the ballast called for by its own type does."""
    offered = ask.candidate.valve_type
    if offered and ask.called_type and plain_type(offered) == plain_type(ask.called_type):
        yield Reason("type", "yes", f"{offered[:20]} is the type called for.", source_of("called"))
    elif ask.offered is not None and ask.offered.kind == "capacitance":
        text = "A capacitor in series drops volts without heat, yet it is another design: X class, computed for this chain, "
        text += "and it knocks the heaters hard at switch-on. Fit the resistance instead."
        yield Reason("kind", "no", text, source_of("cord", "capacitor_source"))
    elif ask.candidate.kind == "transistor":
        text = (
            "A diode in series is another design, and when it fails the whole line is on the heaters. Fit the resistance instead."
        )
        yield Reason("kind", "no", text, source_of("cord", "capacitor_source"))
    else:
        text = "The heaters are fed through this resistance. A plain cord puts the whole line on them and burns them out."
        yield Reason("plain_cord", "no", f"{text} {_ASBESTOS}", source_of("cord"))


def judge_mounting(ask: Question) -> Iterator[Reason]:
    """A resistor instead of a cord or ballast is right only where its heat can go."""
    heat = "It gets hot" if ask.watts_dissipated is None else f"It must get rid of {rounded_text(ask.watts_dissipated, 'power')}"
    text = f"{heat}: mount it on ceramic, clear of the cabinet and of capacitors, with a fuse before it. {_ASBESTOS}"
    yield Reason("mount_clear", "warn", text, source_of("cord", "mount_source"))


def judge_chain(ask: Question) -> Iterator[Reason]:
    """The value and heat that the set's own heaters and line ask for, where both are known."""
    known = [name for name in ask.chain[:LONGEST_CHAIN] if heater_of(name) is not None]
    if not known or ask.line_volts is None or ask.line_volts <= 0 or ask.offered is None or not ask.offered.value:
        return
    result = chain(known, ask.line_volts)
    if result.dropper_ohms <= 0:
        line = rounded_text(ask.line_volts, "voltage")
        text = f"The heaters take {result.sum_text}: on {line} nothing is left to drop. Check the line-up."
        yield Reason("chain_dropper", "warn", text, source_of("heater"))
        return
    yield _against_chain(ask.offered.value, ask.offered.watts, result)


def _against_chain(ohms: Decimal, watts: Decimal | None, result: ChainResult) -> Reason:
    wanted = f"{rounded_text(result.dropper_ohms, 'resistance')}, {rounded_text(result.dropper_watts, 'power')}"
    text = f"The heaters take {result.sum_text}; on {rounded_text(result.line_volts, 'voltage')} the rest needs {wanted}"
    nearly = result.dropper_ohms * Decimal("0.9") <= ohms <= result.dropper_ohms * Decimal("1.1")
    cool = watts is None or watts >= result.dropper_watts * 2
    if nearly and cool:
        return Reason("chain_dropper", "yes", f"{text}.", source_of("heater"))
    said = value_text(ohms, "resistance") if not nearly else value_text(watts or Decimal(0), "power")
    return Reason("chain_dropper", "warn", f"{text}, and this part has {said}.", source_of("heater"))
