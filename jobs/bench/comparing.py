"""A reading against the value called for: limits, deviation, drifted, open or short, and what a repairer adds."""

from dataclasses import replace
from decimal import Decimal

from inventory.components.roles import ROLES
from inventory.components.specs import Band, Spec
from inventory.components.writing import write_value
from jobs.bench.leakage import is_electrolytic_size
from jobs.bench.practice import Picked, practice_band
from jobs.bench.readings import Judgement

LIFT_ONE_END = "It reads low in circuit: lift one end before you condemn it."
OTHER_PARTS = "In circuit other parts join the reading: lift one end before you condemn it."
SHORT_OHMS = Decimal(1)
SHORTED_TURNS = "A winding that reads low may have shorted turns: compare its voltages or its inductance before you trust it."
# What must stand beside a verdict wherever there is room for two sentences.
MINDED = frozenset({LIFT_ONE_END, OTHER_PARTS, SHORTED_TURNS})
# The verdicts that a comparison can give, the gravest last.
_GRAVITY = ("within", "not_measured", "drifted", "open", "shorted")


def band_for(called: Spec, tolerance: Decimal | Band | None, practice: Picked) -> Picked:
    """The tolerance given by the person, else the one called for, else the practice."""
    if tolerance is not None:
        return Picked(practice_band(tolerance), "as given")
    if called.tolerance_percent is not None:
        return Picked(called.tolerance_percent, "as called for")
    return practice


def compare(called: Spec, measured: Spec, picked: Picked, *, in_circuit: bool, role: str = "") -> Judgement:
    """A reading of the kind that is called for, against its limits; a can's sections each against its own, the worst counts."""
    if len(called.sections) > 1:
        return _compare_sections(called, measured, picked, in_circuit, role)
    return _compare_one(called, measured, picked, in_circuit, role)


def _compare_sections(called: Spec, measured: Spec, picked: Picked, in_circuit: bool, role: str) -> Judgement:
    read = measured.sections or (measured.value,)
    wanted = called.sections[: len(read)]
    if len(read) > len(called.sections):
        text = (
            f"{len(called.sections)} sections are called for; {len(read)} are read. Write one reading a section, in their order."
        )
        return Judgement("not_measured", None, None, (text,))
    judged = [
        _compare_one(
            replace(called, value=one, sections=()), replace(measured, value=other, sections=()), picked, in_circuit, role
        )
        for one, other in zip(wanted, read, strict=True)
    ]
    worst = max(judged, key=lambda one: (_GRAVITY.index(one.verdict), abs(one.deviation_percent or 0)))
    reasons = [f"Section {at}: {reason}" for at, one in enumerate(judged, 1) for reason in one.reasons]
    if len(read) < len(called.sections):
        reasons.append(f"{len(called.sections) - len(read)} more to measure: write one reading a section, like 38+19 µF.")
        if worst.verdict == "within":
            return Judgement("not_measured", worst.deviation_percent, worst.limits, tuple(reasons))
    return Judgement(worst.verdict, worst.deviation_percent, worst.limits, tuple(reasons))


def _compare_one(called: Spec, measured: Spec, picked: Picked, in_circuit: bool, role: str) -> Judgement:
    band = picked.band
    if not called.value:
        return _compare_with_nothing(measured)
    ends = (called.value * (1 + band[0] / 100), called.value * (1 + band[1] / 100))
    limits = min(ends), max(ends)
    deviation = (measured.value - called.value) / abs(called.value) * 100
    verdict = "within" if limits[0] <= measured.value <= limits[1] else _outside(called, measured)
    reasons = [_sentence(called, measured, deviation, limits, picked), *_remarks(called, measured, verdict, in_circuit, role)]
    return Judgement(verdict, _hundredths(deviation), limits, tuple(reasons))


def _hundredths(percent: Decimal) -> Decimal:
    """To a hundredth of a percent; a figure too long for that stays as it is."""
    return percent.quantize(Decimal("0.01")) if percent.adjusted() < 20 else percent


def _compare_with_nothing(measured: Spec) -> Judgement:
    text = f"Zero is called for; it reads {write_value(measured.value, measured.kind)}."
    return Judgement("drifted" if measured.value else "within", None, None, (text,))


def _outside(called: Spec, measured: Spec) -> str:
    """Drifted, unless the reading is so far out that it is a short or an open."""
    if called.kind == "resistance" and measured.value < SHORT_OHMS and measured.value < called.value / 100:
        return "shorted"
    if called.kind == "resistance" and measured.value >= called.value * 100:
        return "open"
    if called.kind == "capacitance" and measured.value <= called.value / 50:
        return "open"
    return "drifted"


def _sentence(called: Spec, measured: Spec, deviation: Decimal, limits: Band, picked: Picked) -> str:
    kind = called.kind
    reads, wanted, low, high = (write_value(value, kind) for value in (measured.value, called.value, *limits))
    where = _where(deviation, wanted)
    return f"It reads {reads}, {where}; {low} to {high} is allowed ({allowed_words(picked)})."


def allowed_words(picked: Picked) -> str:
    """The band with where it comes from: "±10 % as called for"."""
    low, high = (end.normalize() for end in picked.band)
    allowed = f"±{high:f} %" if low == -high else f"{low:+f}/{high:+f} %"
    return f"{allowed} {picked.words}"


def _where(deviation: Decimal, wanted: str) -> str:
    if not deviation:
        return "the value called for"
    if deviation >= 900:
        return f"{1 + deviation / 100:.0f} times the {wanted} called for"
    size = f"{abs(deviation):.1f}".removesuffix(".0")
    return f"{'under 0.1' if size == '0' else size} % {'above' if deviation > 0 else 'below'} the {wanted} called for"


def _remarks(called: Spec, measured: Spec, verdict: str, in_circuit: bool, role: str) -> list[str]:
    remarks: list[str] = []
    low = measured.value < called.value
    if verdict == "within":
        return remarks
    if in_circuit:
        remarks.append(_circuit_remark(called.kind, low, role))
    elif low and _is_winding(role):
        remarks.append(SHORTED_TURNS)
    if called.kind == "capacitance" and not low and not in_circuit:
        remarks.append("A capacitor that reads high often leaks: measure its leakage at working voltage.")
    if called.kind == "capacitance" and not low and is_electrolytic_size(called):
        remarks.append("Electrolytics were sold with up to -20/+80 %, so a high reading alone is no fault.")
    if called.value > 0 and measured.value > 0 and _is_shifted_by_ten(called, measured):
        remarks.append("It is out by about a power of ten: check for a misread marking or a misplaced decimal point.")
    return remarks


def _circuit_remark(kind: str, low: bool, role: str) -> str:
    if kind == "resistance" and low:
        return LIFT_ONE_END
    if kind == "resistance":
        part = "winding" if _is_winding(role) else "resistor"
        return f"In circuit a {part} can only read low, so it is truly this high or higher."
    return OTHER_PARTS


def _is_winding(role: str) -> bool:
    return role in ROLES and ROLES[role].kind == "winding"


def _is_shifted_by_ten(called: Spec, measured: Spec) -> bool:
    ratio = measured.value / called.value
    return any(abs(ratio / power - 1) <= Decimal("0.1") for power in (Decimal("0.01"), Decimal("0.1"), Decimal(10), Decimal(100)))
