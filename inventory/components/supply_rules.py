"""Rules where a substitute meets the line: its safety class, and the reservoir that its rectifier bears."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import MICRO, Question, Reason, deviation_of, number_of, sections_of, source_of
from inventory.components.safety_classes import best_for, weaker_than
from inventory.components.valves import is_solid_state, plain_type, rectifier_figure
from inventory.components.writing import write_value


def judge_safety(ask: Question) -> Iterator[Reason]:
    place, offered = ask.role.safety, ask.offered
    if offered is None:
        return
    if ask.called is not None and weaker_than(offered.safety_class, ask.called.safety_class):
        text = f"{ask.called.safety_class} is called for, and {offered.safety_class or 'a part without safety class'} is weaker."
        yield Reason("safety_class_weaker", "no", text, ask.role.source)
    if not place:
        return
    where = "across the line" if place == "line_to_line" else "from the line to the chassis"
    best = best_for(offered.safety_class, place)
    if best is None:
        needed = "X1, X2, Y1 or Y2" if place == "line_to_line" else "Y1 or Y2"
        yield Reason(
            "safety_class", "no", f"It carries no safety class, and {where} only {needed} may be fitted.", ask.role.source
        )
        return
    yield Reason("safety_class", best.level(place), _class_text(best.code, best.note, best.level(place), where), best.source)
    if place == "line_to_chassis" and ask.supply == "transformerless":
        text = "Keep the resistor across it, if there is one: it drains the chassis when the set is unplugged."
        yield Reason("keep_bleeder", "yes", text, "common practice, no source")


def _class_text(code: str, note: str, level: str, where: str) -> str:
    if level == "yes":
        return f"{code} may stand {where}."
    if level == "warn":
        return f"{code} {where} only with care: {note}."
    return f"{code} must not stand {where}: an X class part may fail short and put the line on the chassis. Fit Y1 or Y2."


def judge_reservoir(ask: Question) -> Iterator[Reason]:
    if not ask.role.rectifier_limited or ask.offered is None or is_solid_state(ask.rectifier):
        return
    if not ask.rectifier:
        if _grows(ask):
            text = "It is larger than called for, and the rectifier's type is not known. Look up its largest first capacitor."
            yield Reason("rectifier_unknown", "warn", text, source_of("reservoir"))
        return
    figure = rectifier_figure(ask.rectifier, "max_reservoir_uf")
    if figure is None:
        text = f"No largest first capacitor is on file for {ask.rectifier[:20]}. See its data sheet before you go higher."
        yield Reason("rectifier_no_figure", "warn" if _grows(ask) else "yes", text, source_of("reservoir"))
        return
    size = sections_of(ask.offered)[0] / MICRO
    yield _limit_reason(ask, size, figure.value, figure.source, figure.from_memory)


def _grows(ask: Question) -> bool:
    deviation = deviation_of(ask)
    return deviation is None or deviation > number_of("reservoir", "slack_percent")


def _limit_reason(ask: Question, size_uf: Decimal, limit_uf: Decimal, source: str, from_memory: bool) -> Reason:
    has, allowed = write_value(size_uf * MICRO, "capacitance"), write_value(limit_uf * MICRO, "capacitance")
    valve = plain_type(ask.rectifier)
    if size_uf <= limit_uf:
        return Reason("reservoir_limit", "yes", f"{has} is within the {allowed} a {valve} allows as first capacitor.", source)
    text = f"{has} is above the {allowed} a {valve} allows as first capacitor"
    if from_memory:
        return Reason("reservoir_limit", "warn", f"{text}, a figure from memory: look at the data sheet first.", source)
    if size_uf <= limit_uf * (1 + number_of("reservoir", "slack_percent") / 100):
        return Reason(
            "reservoir_limit", "warn", f"{text}, though within a capacitor's own tolerance: add series resistance.", source
        )
    return Reason("reservoir_limit", "no", f"{text}: the switch-on surge would ruin its cathode.", source)
