"""Rule on the reservoir that a rectifier bears."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import MICRO, Question, Reason, number_of, rounded_text, sections_of, source_of, value_text
from inventory.components.valves import Figure, is_solid_state, plain_type, rectifier_figure


def judge_reservoir(ask: Question) -> Iterator[Reason]:
    """The largest first capacitor of the rectifier's data sheet. Solid rectifiers set no such limit."""
    if not ask.role.rectifier_limited or ask.offered is None or is_solid_state(ask.rectifier):
        return
    if not ask.rectifier:
        if _grows(ask) and ask.role.code == "reservoir":
            text = "It is larger than called for, and the rectifier's type is not known. Look up its largest first capacitor."
            yield Reason("rectifier_unknown", "warn", text, source_of("reservoir"))
        return
    figure = rectifier_figure(ask.rectifier, "max_reservoir_uf")
    if figure is None:
        text = f"No largest first capacitor is on file for {ask.rectifier[:20]}. See its data sheet before you go higher."
        yield Reason("rectifier_no_figure", "warn" if _grows(ask) else "yes", text, source_of("reservoir"))
        return
    yield _limit_reason(ask, _first_section(ask), figure)


def _first_section(ask: Question) -> Decimal:
    """The farads that would stand at the rectifier: the section offered for the first one called for."""
    if ask.called is not None and ask.pairs:
        first = sections_of(ask.called)[0]
        for called, offered in ask.pairs:
            if called == first:
                return offered
    return sections_of(ask.offered)[0] if ask.offered is not None else Decimal(0)


def _grows(ask: Question) -> bool:
    return ask.deviation is None or ask.deviation > number_of("reservoir", "slack_percent")


def _limit_reason(ask: Question, farads: Decimal, figure: Figure) -> Reason:
    size_uf, valve = farads / MICRO, plain_type(ask.rectifier)
    has, allowed = value_text(farads, "capacitance"), rounded_text(figure.value * MICRO, "capacitance")
    if size_uf <= figure.value:
        text = f"{has} is within the {allowed} given for the {valve} as first capacitor."
        return Reason("reservoir_limit", "yes", text, figure.source)
    text = f"{has} is above the {allowed} given for the {valve} as first capacitor"
    level, ending = _over_limit(ask, size_uf, figure)
    return Reason("reservoir_limit", level, f"{text}{ending}", figure.source)


def _over_limit(ask: Question, size_uf: Decimal, figure: Figure) -> tuple[str, str]:
    if figure.from_memory:
        return "warn", ", a figure from memory: look at the data sheet first."
    if ask.deviation is not None and ask.deviation <= 0:
        return (
            "warn",
            ", though no more than the maker fitted: don't go higher, and see that the transformer's resistance is still there.",
        )
    if size_uf <= figure.value * (1 + number_of("reservoir", "slack_percent") / 100):
        return "warn", ", though within a capacitor's own tolerance: add series resistance."
    if ask.role.code != "reservoir":
        return "warn", ": not as the first filter, where the switch-on surge would ruin its cathode."
    return "no", ": the switch-on surge would ruin its cathode."
