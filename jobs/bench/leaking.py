"""Capacitors measured on DC: insulation in ohms, leakage in amps."""

from decimal import Decimal

from inventory.components.specs import Spec
from inventory.components.writing import write_value
from jobs.bench.comparing import SHORT_OHMS
from jobs.bench.leakage import NoLimit, allowed_leakage, least_insulation_ohms
from jobs.bench.readings import Judgement


def judge_insulation(called: Spec, ohms: Decimal) -> Judgement:
    """A capacitor measured in ohms on DC."""
    least, why = least_insulation_ohms(called)
    reads, wanted = write_value(ohms, "resistance"), write_value(_rounded(least), "resistance")
    if ohms < SHORT_OHMS * 10:
        return Judgement("shorted", None, None, (f"It reads {reads} on DC, which is a short.",))
    if ohms < least:
        return Judgement("leaky", None, None, (f"It reads {reads} on DC; a sound one shows {wanted} or more ({why}).",))
    return Judgement("within", None, None, (f"It reads {reads} on DC; {wanted} or more is sound ({why}).",))


def judge_leakage(called: Spec, amps: Decimal) -> Judgement:
    """A capacitor's leakage in amps at its rated voltage."""
    if not called.volts:
        text = "The rated voltage called for is not known, so the leakage has no limit. Enter it with the called-for value."
        return Judgement("not_measured", None, None, (text,))
    try:
        limit = allowed_leakage(called.value, called.volts)
    except NoLimit as missing:
        return Judgement("not_measured", None, None, (str(missing),))
    leaks, allowed = write_value(amps, "current"), write_value(_rounded(limit.amps), "current")
    verdict = "leaky" if amps > limit.amps else "within"
    text = f"It leaks {leaks} at rated voltage; {allowed} is allowed ({limit.label.partition(':')[0]})."
    return Judgement(verdict, None, (Decimal(0), limit.amps), (text,))


def _rounded(value: Decimal) -> Decimal:
    """Three figures, for sentences only."""
    return value.quantize(Decimal(1).scaleb(value.adjusted() - 2)) if value else value
