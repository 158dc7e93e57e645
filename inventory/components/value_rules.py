"""Rules on a substitute's value, sections and tolerance."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import NOUNS, Question, Reason, percent_text, sections_of, source_of, value_text
from inventory.components.specs import Band


def judge_value(ask: Question) -> Iterator[Reason]:
    called, offered = ask.called, ask.offered
    if called is None or offered is None:
        text = f"The service data does not say what the {ask.role.place} is called for. Enter it before you choose by value."
        yield Reason("called_unknown", "warn", text, source_of("called"))
        return
    if called.kind != ask.role.kind:
        text = (
            f"What is called for is given as a {called.kind}, but here goes a {NOUNS[ask.role.kind]}. Check the called-for entry."
        )
        yield Reason("called_kind", "warn", text, source_of("called"))
        return
    if called.sections or offered.sections:
        yield from _section_count(ask)
    if ask.pairs:
        yield _value_reason(ask, *_worst(ask))
    elif called.value != offered.value:
        yield _one_value_missing(ask)
    if called.tolerance_percent is not None:
        yield from _tolerance(ask, called.tolerance_percent)


def _worst(ask: Question) -> tuple[Decimal, Decimal]:
    return ask.pairs[0] if len(ask.pairs) == 1 else max(ask.pairs, key=lambda pair: abs(pair[1] / pair[0] - 1))


def _one_value_missing(ask: Question) -> Reason:
    if ask.called is not None and ask.called.value:
        wanted = value_text(ask.called.value, ask.role.kind)
        text = f"{wanted} is called for, and this part's value is not recorded. Measure it first."
        return Reason("unmarked", "warn", text, source_of("called"))
    text = "Only a rating is called for, no value. Look the value up before you choose by it."
    return Reason("called_unknown", "warn", text, source_of("called"))


def _section_count(ask: Question) -> Iterator[Reason]:
    if ask.called is None or ask.offered is None:
        return
    wanted, given = len(sections_of(ask.called)), len(sections_of(ask.offered))
    if given < wanted:
        text = f"{wanted} sections are called for and this part has {given}: it needs {wanted - given} more beside it."
        yield Reason("sections", "warn", text, source_of("sections"))


def _value_reason(ask: Question, called: Decimal, offered: Decimal) -> Reason:
    kind, role = ask.role.kind, ask.role
    if called == offered:
        return Reason("value", "yes", f"{value_text(offered, kind)} is the value called for.", role.source)
    deviation = (offered - called) / called * 100
    level = value_level(ask, deviation)
    side = f"{percent_text(deviation)} {'above' if deviation > 0 else 'below'}"
    place = f"{value_text(offered, kind)} against {value_text(called, kind)} called for: {side}"
    if level == "yes":
        return Reason("value", level, f"{place}, which does at this position.", role.source)
    if level == "warn":
        return Reason(
            "value",
            level,
            f"{place}, outside the usual {_band_text(role.window_percent)}; use it only if nothing nearer is there.",
            role.source,
        )
    return Reason("value", level, f"{place}, outside {_band_text(role.limit_percent)}; find a nearer value.", role.source)


def _band_text(band: Band | None) -> str:
    return "" if band is None else f"{band[0]:+}/{band[1]:+} %"


def value_level(ask: Question, deviation: Decimal) -> str:
    """yes, warn or no for a deviation in percent at the question's role."""
    limit, window = ask.role.limit_percent, ask.role.window_percent
    if limit is not None and not limit[0] <= deviation <= limit[1]:
        return "no"
    if window is not None and not window[0] <= deviation <= window[1]:
        return "warn"
    return "yes"


def _tolerance(ask: Question, wanted: Band) -> Iterator[Reason]:
    deviation = ask.deviation
    if deviation is not None and not wanted[0] <= deviation <= wanted[1] and value_level(ask, deviation) == "yes":
        text = f"Its nominal value lies {percent_text(deviation)} off, outside the {_band_text(wanted)} called for."
        yield Reason("outside_tolerance", "warn", text, source_of("tolerance"))
    given = ask.offered.tolerance_percent if ask.offered else None
    if given is not None:
        wide, wide_wanted = max(map(abs, given)), max(map(abs, wanted))
        if wide > wide_wanted:
            text = f"Its tolerance of {percent_text(wide)} is wider than the {percent_text(wide_wanted)} called for. Measure it."
            yield Reason("tolerance", "warn", text, source_of("tolerance"))
