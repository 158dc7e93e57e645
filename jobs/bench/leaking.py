"""Capacitors measured on DC: insulation in ohms, leakage in amps."""

from decimal import Decimal

from inventory.components.specs import Spec
from inventory.components.writing import write_value
from jobs.bench.comparing import SHORT_OHMS
from jobs.bench.leakage import NoLimit, allowed_leakage, is_electrolytic_size, least_insulation_ohms
from jobs.bench.readings import Judgement

REFORM = "Reforming may bring it down: reform it and measure again, or replace it."


def judge_insulation(called: Spec, ohms: Decimal, at_volts: Decimal | None = None) -> Judgement:
    """A capacitor measured in ohms on DC, at `at_volts` where that is known."""
    least, why = _least(called)
    reads, wanted = write_value(ohms, "resistance"), write_value(_rounded(least), "resistance")
    if ohms < SHORT_OHMS * 10:
        return Judgement("shorted", None, None, (f"It reads {reads} on DC, which is a short.",))
    if ohms < least:
        return Judgement("leaky", None, None, (f"It reads {reads} on DC; a sound one shows {wanted} or more ({why}).",))
    remarks = _at_less(called, at_volts)
    return Judgement("within", None, None, (f"It reads {reads} on DC; {wanted} or more is sound ({why}).", *remarks))


def _least(called: Spec) -> tuple[Decimal, str]:
    try:
        return least_insulation_ohms(called)
    except NoLimit:
        # Rated for more than any formula covers: then as one whose rating nobody knows.
        return least_insulation_ohms(Spec(called.kind, called.value))


def judge_leakage(called: Spec, amps: Decimal, at_volts: Decimal | None = None) -> Judgement:
    """A capacitor's leakage in amps, at `at_volts`, else at its rated voltage. Paper and film are judged as resistances."""
    if not is_electrolytic_size(called):
        return _as_insulation(called, abs(amps), at_volts)
    if not called.volts:
        text = "The rated voltage called for is not known, so the leakage has no limit. Enter it with the called-for value."
        return Judgement("not_measured", None, None, (text,))
    try:
        limit = allowed_leakage(called.value, called.volts)
    except NoLimit as missing:
        return Judgement("not_measured", None, None, (str(missing),))
    leaky = abs(amps) > limit.amps
    leaks, allowed = write_value(abs(amps), "current"), write_value(_rounded(limit.amps), "current")
    text = f"It leaks {leaks} at {_volts(at_volts)}; {allowed} is allowed ({limit.label.partition(':')[0]})."
    remarks = (REFORM,) if leaky else _at_less(called, at_volts)
    return Judgement("leaky" if leaky else "within", None, (Decimal(0), limit.amps), (text, *remarks))


def _as_insulation(called: Spec, amps: Decimal, at_volts: Decimal | None) -> Judgement:
    """Formulas in microfarads allow a small capacitor far too much: a grid leak would lift its valve."""
    volts = at_volts or called.volts
    if not volts:
        text = "Write the voltage with the leakage, like leaks 2 µA at 250 V: a paper or film part is judged by its resistance."
        return Judgement("not_measured", None, None, (text,))
    leaks = write_value(amps, "current")
    least, why = least_insulation_ohms(called)
    most = volts / least
    text = f"It leaks {leaks} at {volts.normalize():f} V; {write_value(_rounded(most), 'current')} is the most ({why})."
    verdict = "leaky" if amps > most else "within"
    remarks = () if verdict == "leaky" else _at_less(called, at_volts)
    return Judgement(verdict, None, (Decimal(0), most), (text, *remarks))


def _volts(at_volts: Decimal | None) -> str:
    return f"{at_volts.normalize():f} V" if at_volts else "rated voltage"


def _at_less(called: Spec, at_volts: Decimal | None) -> tuple[str, ...]:
    """What a sound reading at less than the rating doesn't prove."""
    if not at_volts or not called.volts or at_volts >= called.volts:
        return ()
    return (
        f"That was at {at_volts.normalize():f} V; it is rated {called.volts.normalize():f} V: prove it at its working voltage.",
    )


def _rounded(value: Decimal) -> Decimal:
    """Three figures, for sentences only."""
    return value.quantize(Decimal(1).scaleb(value.adjusted() - 2)) if value else value
