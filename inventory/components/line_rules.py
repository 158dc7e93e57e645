"""Rules where a capacitor meets the line: its safety class, its AC rating, and the current it lets through."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache

from inventory.components.answers import (
    Question,
    Reason,
    milliamps_text,
    number_of,
    sections_of,
    source_of,
    value_text,
    volts_text,
)
from inventory.components.problems import SubstitutionError
from inventory.components.safety_classes import ClassRule, best_for, known_classes, weaker_than
from inventory.components.tables import toml_table

_TWO_PI = Decimal("6.283185307179586")
_LARGEST = Decimal("1e9")


@dataclass(frozen=True, slots=True)
class LineLeak:
    """The current through a capacitor at the line. `is_assumed` where the set's line is not known: the worst of the usual."""

    amps: Decimal
    volts: Decimal
    hertz: Decimal
    is_assumed: bool

    @property
    def text(self) -> str:
        """As a sentence says it: 2.21 mA at 117 V, 60 Hz."""
        at = f"{milliamps_text(self.amps)} at {volts_text(self.volts)}, {value_text(self.hertz, 'frequency')}"
        return f"up to {at} (the worst of the usual lines)" if self.is_assumed else at


@cache
def usual_lines() -> tuple[tuple[Decimal, Decimal], ...]:
    """(volts, hertz) of the lines taken where a set's own is not known."""
    rows = toml_table("inventory.components", "substitution.toml")["leakage"]["lines"]
    return tuple((Decimal(volts), Decimal(hertz)) for volts, hertz in rows)


def line_leak(farads: Decimal, line_volts: Decimal | None = None, line_hertz: Decimal | None = None) -> LineLeak:
    """I = 2 pi f C U in amps. Unknown hertz: those of the usual line nearest in volts; unknown volts: the worst usual line.

    SubstitutionError (out_of_range) for what no line or capacitor has.
    """
    for amount in (farads, line_volts, line_hertz):
        if amount is not None and not (amount.is_finite() and 0 <= amount <= _LARGEST):
            raise SubstitutionError(
                "out_of_range", "Give farads, line volts and hertz as numbers from 0 up, like 4.7e-9, 230 and 50."
            )
    return _leak(farads, line_volts, line_hertz)


@lru_cache(maxsize=512)
def _leak(farads: Decimal, line_volts: Decimal | None, line_hertz: Decimal | None) -> LineLeak:
    if line_volts is not None:
        nearest = min(usual_lines(), key=lambda line: abs(line[0] - line_volts))
        lines = [(line_volts, nearest[1] if line_hertz is None else line_hertz)]
    else:
        lines = [(volts, hertz if line_hertz is None else line_hertz) for volts, hertz in usual_lines()]
    volts, hertz = max(lines, key=lambda line: line[0] * line[1])
    return LineLeak(_TWO_PI * hertz * farads * volts, volts, hertz, line_volts is None)


def judge_class(ask: Question) -> Iterator[Reason]:
    """The safety class: no weaker than called for anywhere, and one of the place's own on the line."""
    place, offered = ask.role.safety, ask.offered
    if offered is None:
        return
    called = ask.called.safety_class if ask.called is not None else None
    if called and weaker_than(offered.safety_class, called):
        text = f"{called} is called for, and {offered.safety_class or 'a part without safety class'} is weaker."
        yield Reason("safety_class_weaker", "no", text, ask.role.source)
    if place:
        yield _class_reason(ask, place, best_for(offered.safety_class, place))


def _class_reason(ask: Question, place: str, best: ClassRule | None) -> Reason:
    where = _where(ask)
    if best is None:
        needed = "X1, X2, Y1 or Y2" if place == "line_to_line" else "Y1 or Y2"
        text = f"It carries no safety class, whatever its voltage, and {where} only {needed} may be fitted."
        return Reason("safety_class", "no", text, ask.role.source)
    level = best.level(place)
    if level == "no":
        text = (
            f"{best.code} must not stand {where}: an X class part may fail short and put the line on the chassis. Fit Y1 or Y2."
        )
    elif level == "warn":
        text = f"{best.code} {where} only with care: {best.note}."
    elif ask.role.touchable and best.code != "Y1":
        level, text = (
            "warn",
            f"{best.code} alone may not bridge to what can be touched: fit Y1, or two Y2 of twice the value in series.",
        )
    else:
        text = f"{best.code} may stand {where}."
    return Reason("safety_class", level, text, best.source)


def suits_place(ask: Question) -> bool:
    """Whether its class lets it stand there at all; what must not be fitted needs no further sums."""
    best = best_for(ask.offered.safety_class, ask.role.safety) if ask.offered is not None else None
    return best is not None and best.level(ask.role.safety) != "no"


def _where(ask: Question) -> str:
    if ask.role.touchable:
        return "from the live side to a socket that can be touched"
    return "across the line" if ask.role.safety == "line_to_line" else "from the line to the chassis"


def judge_line_volts(ask: Question) -> Iterator[Reason]:
    """Volts of a part with a safety class are AC volts; those of the old part were DC volts and say nothing."""
    offered = ask.offered
    if offered is None or not known_classes(offered.safety_class):
        return
    needed = ask.line_volts if ask.line_volts is not None else ask.volts_working
    if offered.volts is None:
        if needed is not None:
            yield Reason(
                "volts_unknown", "warn", "Its AC voltage is not recorded. Read it off the part first.", source_of("voltage")
            )
    elif needed is None:
        yield from _for_which_line(offered.volts)
    elif offered.volts < needed:
        text = f"Rated {volts_text(offered.volts)} AC, below the {volts_text(needed)} of the line."
        yield Reason("volts_working", "no", text, source_of("voltage"))
    else:
        text = f"Rated {volts_text(offered.volts)} AC; the line has {volts_text(needed)}."
        yield Reason("volts", "yes", text, source_of("voltage"))
    yield from _below_called(ask)


def _for_which_line(rated: Decimal) -> Iterator[Reason]:
    highest = max(volts for volts, _ in usual_lines())
    if rated < highest:
        text = (
            f"Rated {volts_text(rated)} AC, too little for a line of {volts_text(highest)}. Find out which line this set is for."
        )
        yield Reason("line_unknown", "warn", text, source_of("voltage"))


def _below_called(ask: Question) -> Iterator[Reason]:
    called, offered = ask.called, ask.offered
    if called is None or offered is None or not called.safety_class or called.volts is None or offered.volts is None:
        return
    if offered.volts < called.volts:
        text = (
            f"Rated {volts_text(offered.volts)} AC, below the {volts_text(called.volts)} called for: is it enough for the line?"
        )
        yield Reason("volts_below_called", "warn", text, source_of("voltage"))


def judge_line_current(ask: Question) -> Iterator[Reason]:
    """What the capacitor passes to the chassis, or keeps across the plug."""
    if ask.offered is None or not ask.offered.value:
        return
    if ask.role.safety == "line_to_line":
        yield from _kept_charge(ask)
        return
    if not suits_place(ask):
        return
    volts = ask.line_volts if ask.line_volts is not None else ask.volts_working
    leak = line_leak(max(sections_of(ask.offered)), volts, ask.line_hertz)
    yield _leak_reason(ask, leak)
    if ask.supply == "transformerless":
        text = "Keep the resistor across it, if there is one: it drains the chassis when the set is unplugged."
        yield Reason("keep_bleeder", "yes", text, source_of("leakage", "bleeder_source"))


def _leak_reason(ask: Question, leak: LineLeak) -> Reason:
    limit = number_of("leakage", "limit_amps")
    allowed = milliamps_text(limit)
    if leak.amps <= limit:
        text = f"It passes {leak.text}: within the {allowed} that a touch may carry."
        return Reason("line_current", "yes", text, source_of("leakage"))
    if ask.role.touchable:
        text = f"It passes {leak.text}, more than the {allowed} that a touch may carry: take a smaller value."
    elif _is_raised(ask):
        text = f"It passes {leak.text}, more than the {allowed} that a touch may carry: don't raise the value called for."
    else:
        text = f"Like the part called for it passes {leak.text}: more than the {allowed} that a touch may carry. Nothing joined "
        text += "to this chassis may be touchable - knob screws, back, sockets - and the leakage check must prove it."
        # Where the set's own line isn't known the figure is told; it cautions once it is this set's figure.
        return Reason("line_current", "yes" if ask.line_volts is None else "warn", text, source_of("leakage"))
    return Reason("line_current", "warn", text, source_of("leakage"))


def _is_raised(ask: Question) -> bool:
    return ask.deviation is None or ask.deviation > 0


def _kept_charge(ask: Question) -> Iterator[Reason]:
    if ask.offered is not None and ask.offered.value > number_of("leakage", "discharge_farads"):
        text = "It can hold a charge at the pins of the plug: keep or fit a bleed resistor across it."
        yield Reason("kept_charge", "yes", text, source_of("leakage", "discharge_source"))
