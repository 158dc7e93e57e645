"""What a reading means: the verdict on a measured part against the value called for."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from inventory.components.notation import NotationError, read_measured
from inventory.components.specs import Band, Spec
from inventory.components.writing import write_value
from jobs.bench.leakage import NoLimit, allowed_leakage, is_electrolytic_size, least_insulation_ohms

VERDICTS: Mapping[str, str] = MappingProxyType(
    {
        "within": "Within tolerance",
        "drifted": "Drifted",
        "open": "Open",
        "shorted": "Shorted",
        "leaky": "Leaky",
        "wrong_part": "Wrong part",
        "not_measured": "Not measured",
    }
)
LIFT_ONE_END = "It reads low in circuit: lift one end before you condemn it."
_OPEN = frozenset(
    {"open", "o/c", "oc", "ol", "o.l", "o.l.", "0l", "over", "overload", "infinite", "infinity", "inf", "∞", "open circuit"}
)
_SHORTED = frozenset({"short", "shorted", "s/c", "sc", "short circuit", "dead short"})
_NOT_MEASURED = frozenset({"", "-", "--", "n/a", "na", "not measured", "?"})
_LEAKY = re.compile(r"(?i)leaky\b[:,]?\s*(.*)", re.DOTALL)
_SHORT_OHMS = Decimal(1)


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict code from VERDICTS, the deviation from the called value in percent, the limits in SI base units, and why."""

    verdict: str
    deviation_percent: Decimal | None
    limits: Band | None
    reasons: tuple[str, ...]

    @property
    def label(self) -> str:
        """The verdict in the trade's words."""
        return VERDICTS[self.verdict]


def judge(
    called: Spec | None,
    measured: Spec | str,
    *,
    tolerance_percent: Decimal | Band | None = None,
    practice_percent: Decimal = Decimal(20),
    in_circuit: bool = False,
    kind: str | None = None,
) -> Judgement:
    """Judge a reading. `measured` is a Spec, a notation, or words: open, OL, short, leaky, leaky 2 M; empty is not measured.

    The limits: `tolerance_percent` (± or signed low, high), else the tolerance called for, else `practice_percent` either way.
    A reading that can't be read raises NotationError.
    """
    if isinstance(measured, str):
        worded = _worded(called, measured, kind)
        if worded is not None:
            return worded
        measured = _read(called, measured, kind)
    if called is None:
        text = "Nothing is called for at this position, so there is nothing to compare the reading with."
        return Judgement("not_measured", None, None, (text,))
    if measured.kind != called.kind:
        return _other_kind(called, measured)
    return _compare(called, measured, _band(called, tolerance_percent, practice_percent), in_circuit)


def _worded(called: Spec | None, text: str, kind: str | None) -> Judgement | None:
    """The verdict of a reading given in words, None when it is a value."""
    words = " ".join(text.lower().split())[:100]
    if words in _NOT_MEASURED:
        return Judgement("not_measured", None, None, ("No reading was entered.",))
    if words in _OPEN:
        return Judgement("open", None, None, ("It reads open.",))
    if words in _SHORTED:
        return Judgement("shorted", None, None, ("It reads as a short.",))
    leaky = _LEAKY.fullmatch(text.strip())
    return _leaky(leaky.group(1)) if leaky else None


def _leaky(amount: str) -> Judgement:
    if not amount.strip():
        return Judgement("leaky", None, None, ("It leaks.",))
    try:
        leak = read_measured(amount)
    except NotationError:
        leak = read_measured(amount, "resistance")
    return Judgement("leaky", None, None, (f"It leaks: {write_value(leak.value, leak.kind)} measured.",))


def _read(called: Spec | None, text: str, kind: str | None) -> Spec:
    """A value in the called kind, or in the kind its unit names: a capacitor may also be measured in ohms or milliamps."""
    wanted = kind or (called.kind if called else None)
    if kind is None and wanted is not None:
        named = _by_its_unit(text)
        if named is not None and (wanted == "capacitance" or named.kind == wanted):
            return named
    try:
        return read_measured(text, wanted)
    except NotationError as refused:
        if refused.code == "unreadable" and kind is None:
            return read_measured(text)
        raise


def _by_its_unit(text: str) -> Spec | None:
    """The only reading of the text by itself, None when it needs a kind."""
    try:
        return read_measured(text)
    except NotationError:
        return None


def _band(called: Spec, tolerance: Decimal | Band | None, practice: Decimal) -> tuple[Band, str]:
    if tolerance is not None:
        band = tolerance if isinstance(tolerance, tuple) else (-abs(tolerance), abs(tolerance))
        return band, "as given"
    if called.tolerance_percent is not None:
        return called.tolerance_percent, "as called for"
    return (-abs(practice), abs(practice)), "by shop practice"


def _compare(called: Spec, measured: Spec, band_and_origin: tuple[Band, str], in_circuit: bool) -> Judgement:
    band, origin = band_and_origin
    if not called.value:
        return _compare_with_nothing(measured)
    ends = (called.value * (1 + band[0] / 100), called.value * (1 + band[1] / 100))
    limits = min(ends), max(ends)
    deviation = (measured.value - called.value) / abs(called.value) * 100
    verdict = "within" if limits[0] <= measured.value <= limits[1] else _outside(called, measured)
    reasons = [_sentence(called, measured, deviation, limits, band, origin), *_remarks(called, measured, verdict, in_circuit)]
    return Judgement(verdict, deviation.quantize(Decimal("0.01")), limits, tuple(reasons))


def _compare_with_nothing(measured: Spec) -> Judgement:
    text = f"Zero is called for; it reads {write_value(measured.value, measured.kind)}."
    return Judgement("drifted" if measured.value else "within", None, None, (text,))


def _outside(called: Spec, measured: Spec) -> str:
    """Drifted, unless the reading is so far out that it is a short or an open."""
    if called.kind == "resistance" and measured.value < _SHORT_OHMS and measured.value < called.value / 100:
        return "shorted"
    if called.kind == "resistance" and measured.value >= called.value * 100:
        return "open"
    if called.kind == "capacitance" and measured.value <= called.value / 50:
        return "open"
    return "drifted"


def _sentence(called: Spec, measured: Spec, deviation: Decimal, limits: Band, band: Band, origin: str) -> str:
    kind = called.kind
    reads, wanted, low, high = (write_value(value, kind) for value in (measured.value, called.value, *limits))
    size = f"{abs(deviation):.1f}".removesuffix(".0")
    where = (
        "the value called for" if not deviation else f"{size} % {'above' if deviation > 0 else 'below'} the {wanted} called for"
    )
    allowed = f"±{band[1].normalize():f} %" if band[0] == -band[1] else f"{band[0].normalize():+f}/{band[1].normalize():+f} %"
    return f"It reads {reads}, {where}; {low} to {high} is allowed ({allowed} {origin})."


def _remarks(called: Spec, measured: Spec, verdict: str, in_circuit: bool) -> list[str]:
    remarks: list[str] = []
    low = measured.value < called.value
    if verdict == "within":
        return remarks
    if in_circuit and called.kind == "resistance":
        remarks.append(LIFT_ONE_END if low else "In circuit a resistor can only read low, so it is truly this high or higher.")
    if in_circuit and called.kind == "capacitance":
        remarks.append("In circuit other parts join the reading: lift one end before you condemn it.")
    if called.kind == "capacitance" and not low and not in_circuit:
        remarks.append("A capacitor that reads high often leaks: measure its leakage at working voltage.")
    if called.kind == "capacitance" and not low and is_electrolytic_size(called):
        remarks.append("Electrolytics were sold with up to -20/+80 %, so a high reading alone is no fault.")
    if called.value > 0 and measured.value > 0 and _is_shifted_by_ten(called, measured):
        remarks.append("It is out by about a power of ten: check for a misread marking or a misplaced decimal point.")
    return remarks


def _is_shifted_by_ten(called: Spec, measured: Spec) -> bool:
    ratio = measured.value / called.value
    return any(abs(ratio / power - 1) <= Decimal("0.1") for power in (Decimal("0.01"), Decimal("0.1"), Decimal(10), Decimal(100)))


def _other_kind(called: Spec, measured: Spec) -> Judgement:
    if called.kind == "capacitance" and measured.kind == "resistance":
        return _insulation(called, measured.value)
    if called.kind == "capacitance" and measured.kind == "current":
        return _leakage_current(called, measured.value)
    wanted = f"{_with_article(called.kind)} of {write_value(called.value, called.kind)}"
    text = f"{wanted[0].upper()}{wanted[1:]} is called for; the reading is {_with_article(measured.kind)}."
    return Judgement("wrong_part", None, None, (text,))


def _with_article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _insulation(called: Spec, ohms: Decimal) -> Judgement:
    least, why = least_insulation_ohms(called)
    reads, wanted = write_value(ohms, "resistance"), write_value(_rounded(least), "resistance")
    if ohms < _SHORT_OHMS * 10:
        return Judgement("shorted", None, None, (f"It reads {reads} on DC, which is a short.",))
    if ohms < least:
        return Judgement("leaky", None, None, (f"It reads {reads} on DC; a sound one shows {wanted} or more ({why}).",))
    return Judgement("within", None, None, (f"It reads {reads} on DC; {wanted} or more is sound ({why}).",))


def _leakage_current(called: Spec, amps: Decimal) -> Judgement:
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
