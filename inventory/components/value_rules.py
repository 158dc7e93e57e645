"""Rules on a substitute's value, sections and tolerance."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import (
    NOUNS,
    Question,
    Reason,
    deviation_of,
    percent_text,
    section_pairs,
    sections_of,
    source_of,
)
from inventory.components.writing import write_value


def judge_value(ask: Question) -> Iterator[Reason]:
    if ask.called is None:
        text = f"The service data does not say what {ask.role.label.lower()} is called for. Enter it before you choose by value."
        yield Reason("called_unknown", "warn", text, source_of("called"))
        return
    if ask.called.kind != ask.role.kind:
        noun = NOUNS[ask.role.kind]
        text = f"The value called for is a {ask.called.kind}, but the position takes a {noun}. Check the called-for entry."
        yield Reason("called_kind", "warn", text, source_of("called"))
        return
    yield from _section_count(ask)
    pairs = section_pairs(ask)
    if pairs:
        called, offered = max(pairs, key=lambda pair: abs(pair[1] / pair[0] - 1))
        yield _value_reason(ask, called, offered)
    yield from _tolerance(ask)


def _section_count(ask: Question) -> Iterator[Reason]:
    if ask.called is None or ask.offered is None:
        return
    wanted, given = len(sections_of(ask.called)), len(sections_of(ask.offered))
    if given < wanted:
        text = f"{wanted} sections are called for and this part has {given}: it needs {wanted - given} more beside it."
        yield Reason("sections", "warn", text, source_of("sections"))


def _value_reason(ask: Question, called: Decimal, offered: Decimal) -> Reason:
    deviation = (offered - called) / called * 100
    kind = ask.role.kind
    place = f"{write_value(offered, kind)} against {write_value(called, kind)} called for"
    if not deviation:
        return Reason("value", "yes", f"{write_value(offered, kind)} is the value called for.", ask.role.source)
    side = f"{percent_text(deviation)} {'above' if deviation > 0 else 'below'}"
    level = _value_level(ask, deviation)
    if level == "yes":
        return Reason("value", level, f"{place}: {side}, which does at this position.", ask.role.source)
    band = ask.role.window_percent if level == "warn" else ask.role.limit_percent
    assert band is not None
    allowed = f"{band[0]:+}/{band[1]:+} %"
    ending = (
        f"outside the usual {allowed}; use it only if nothing nearer is there"
        if level == "warn"
        else f"outside {allowed}; find a nearer value"
    )
    return Reason("value", level, f"{place}: {side}, {ending}.", ask.role.source)


def _value_level(ask: Question, deviation: Decimal) -> str:
    if ask.role.limit_percent is not None and not ask.role.limit_percent[0] <= deviation <= ask.role.limit_percent[1]:
        return "no"
    if ask.role.window_percent is not None and not ask.role.window_percent[0] <= deviation <= ask.role.window_percent[1]:
        return "warn"
    return "yes"


def _tolerance(ask: Question) -> Iterator[Reason]:
    called, offered = ask.called, ask.offered
    if called is None or offered is None or called.tolerance_percent is None:
        return
    yield from _outside_called_tolerance(ask, called.tolerance_percent)
    if offered.tolerance_percent is not None:
        wide, wanted = max(map(abs, offered.tolerance_percent)), max(map(abs, called.tolerance_percent))
        if wide > wanted:
            text = f"Its tolerance of {percent_text(wide)} is wider than the {percent_text(wanted)} called for. Measure it first."
            yield Reason("tolerance", "warn", text, source_of("tolerance"))


def _outside_called_tolerance(ask: Question, band: tuple[Decimal, Decimal]) -> Iterator[Reason]:
    deviation = deviation_of(ask)
    if deviation is not None and not band[0] <= deviation <= band[1] and _value_level(ask, deviation) == "yes":
        text = f"Its nominal value lies {percent_text(deviation)} off, outside the {band[0]:+}/{band[1]:+} % called for."
        yield Reason("outside_tolerance", "warn", text, source_of("tolerance"))
