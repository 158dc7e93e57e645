"""Rules on a substitute's voltage, polarity and temperature."""

from collections.abc import Iterator
from decimal import Decimal

from inventory.components.answers import Question, Reason, number_of, rounded_text, source_of, volts_text
from inventory.components.problems import SubstitutionError

_ROOT_TWO = Decimal(2).sqrt()
_ELECTROLYTICS = ("electrolytic", "tantalum")
_MOST_VOLTS = Decimal("1e9")


def no_load_peak_volts(volts_rms: Decimal) -> Decimal:
    """What the first capacitor stands at before the valves draw current: sqrt 2 times the rms volts of the half that charges it.

    SubstitutionError (out_of_range) for less than 0 or beyond 1 GV. Source: textbook.
    """
    if not (volts_rms.is_finite() and 0 <= volts_rms <= _MOST_VOLTS):
        raise SubstitutionError("out_of_range", "Give the rms volts as a number from 0 up, like 300.")
    return volts_rms * _ROOT_TWO


def judge_volts(ask: Question) -> Iterator[Reason]:
    """A DC voltage rating against what is called for and what the part works at; lines have rules of their own."""
    offered = ask.offered.volts if ask.offered else None
    called = ask.called.volts if ask.called else None
    working = ask.volts_working
    if called is None and working is None:
        if ask.called is not None:
            text = "Neither the voltage called for nor the working voltage is known. Measure or calculate it before you fit this."
            yield Reason("volts_called_unknown", "warn", text, source_of("voltage"))
    elif offered is None:
        yield Reason("volts_unknown", "warn", "Its voltage is not recorded. Read it off the part first.", source_of("voltage"))
    elif called is not None and offered < called:
        text = f"Rated {volts_text(offered)}, below the {volts_text(called)} called for."
        yield Reason("volts", "no", text, source_of("voltage"))
    elif working is not None and offered < working:
        text = f"Rated {volts_text(offered)}, below the {rounded_text(working, 'voltage')} it would work at."
        yield Reason("volts_working", "no", text, source_of("voltage"))
    else:
        needed = max(volts for volts in (called, working) if volts is not None)
        yield Reason("volts", "yes", f"Rated {volts_text(offered)}; {volts_text(needed)} is needed.", source_of("voltage"))
        yield from _margin(ask, offered)
    if offered is not None and ask.line_volts is not None and ask.role.rectifier_limited:
        yield from _start_up(ask, offered, ask.line_volts)


def _is_electrolytic(ask: Question) -> bool:
    return ask.technology in _ELECTROLYTICS or (not ask.technology and ask.role.polarised == "yes")


def _margin(ask: Question, offered: Decimal) -> Iterator[Reason]:
    if (
        ask.volts_working is None
        or not _is_electrolytic(ask)
        or ask.volts_working <= offered * number_of("voltage", "margin_share")
    ):
        return
    text = f"It would work at {rounded_text(ask.volts_working, 'voltage')} of its {volts_text(offered)}: a high line is too much."
    yield Reason("volts_margin", "warn", f"{text} The next higher rating is better.", source_of("voltage", "margin_source"))


def _start_up(ask: Question, offered: Decimal, line_volts: Decimal) -> Iterator[Reason]:
    """Without a transformer the line itself charges the first capacitor; behind one, nobody knows the secondary from the line."""
    peak = line_volts * _ROOT_TWO
    if ask.supply == "transformerless" and offered < peak:
        stands = f"Until the valves draw current it stands at {rounded_text(peak, 'voltage')} on this line"
        text = f"{stands}, above its {volts_text(offered)}."
        yield Reason("volts_start_up", "warn", text, source_of("voltage", "peak_source"))


def judge_polarity(ask: Question) -> Iterator[Reason]:
    """A polarised part only where the position has a steady polarity."""
    if not ask.polarised or ask.role.polarised == "yes":
        return
    value = ask.called.value if ask.called is not None and ask.called.value else ask.offered.value if ask.offered else Decimal(0)
    if ask.role.polarised == "large" and value >= number_of("polarity", "large_farads"):
        text = "It is polarised. Find out which side of the position is positive, and confirm it after fitting."
        yield Reason("polarity", "warn", text, source_of("polarity"))
    else:
        text = f"It is polarised, and the {ask.role.place} sees alternating voltage or none at all."
        yield Reason("polarity", "no", text, source_of("polarity"))


def judge_warmth(ask: Question) -> Iterator[Reason]:
    """An electrolytic's own temperature limit, where both it and the warmth of the place are known."""
    most, ambient = ask.candidate.max_celsius, ask.ambient_celsius
    if most is None or ambient is None:
        return
    where = f"It is made for {most:.0f} °C and the place is at {ambient:.0f} °C"
    if ambient > most:
        yield Reason(
            "warmth", "warn", f"{where}: find a cooler place or a part for more heat.", source_of("ambient", "life_source")
        )
    elif _is_electrolytic(ask) and ambient > most - number_of("ambient", "life_celsius"):
        text = f"{where}: it will dry out early. A 105 °C part, or a place away from the hot valve, is better."
        yield Reason("warmth", "warn", text, source_of("ambient", "life_source"))
