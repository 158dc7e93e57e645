"""A reading against the value called for: limits, deviation, drifted, open or short, and what a repairer adds."""

from decimal import Decimal

from inventory.components.roles import ROLES
from inventory.components.specs import Band, Spec
from inventory.components.writing import write_value
from jobs.bench.leakage import is_electrolytic_size
from jobs.bench.practice import Picked, practice_band
from jobs.bench.readings import Judgement

LIFT_ONE_END = "It reads low in circuit: lift one end before you condemn it."
SHORT_OHMS = Decimal(1)


def band_for(called: Spec, tolerance: Decimal | Band | None, practice: Picked) -> Picked:
    """The tolerance given by the person, else the one called for, else the practice."""
    if tolerance is not None:
        return Picked(practice_band(tolerance), "as given")
    if called.tolerance_percent is not None:
        return Picked(called.tolerance_percent, "as called for")
    return practice


def compare(called: Spec, measured: Spec, picked: Picked, *, in_circuit: bool, role: str = "") -> Judgement:
    """A reading of the kind that is called for, against its limits."""
    band = picked.band
    if not called.value:
        return _compare_with_nothing(measured)
    ends = (called.value * (1 + band[0] / 100), called.value * (1 + band[1] / 100))
    limits = min(ends), max(ends)
    deviation = (measured.value - called.value) / abs(called.value) * 100
    verdict = "within" if limits[0] <= measured.value <= limits[1] else _outside(called, measured)
    reasons = [_sentence(called, measured, deviation, limits, picked), *_remarks(called, measured, verdict, in_circuit, role)]
    return Judgement(verdict, deviation.quantize(Decimal("0.01")), limits, tuple(reasons))


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
    kind, band = called.kind, picked.band
    reads, wanted, low, high = (write_value(value, kind) for value in (measured.value, called.value, *limits))
    size = f"{abs(deviation):.1f}".removesuffix(".0")
    where = (
        "the value called for" if not deviation else f"{size} % {'above' if deviation > 0 else 'below'} the {wanted} called for"
    )
    allowed = f"±{band[1].normalize():f} %" if band[0] == -band[1] else f"{band[0].normalize():+f}/{band[1].normalize():+f} %"
    return f"It reads {reads}, {where}; {low} to {high} is allowed ({allowed} {picked.words})."


def _remarks(called: Spec, measured: Spec, verdict: str, in_circuit: bool, role: str) -> list[str]:
    remarks: list[str] = []
    low = measured.value < called.value
    if verdict == "within":
        return remarks
    if in_circuit:
        remarks.append(_circuit_remark(called.kind, low, role))
    elif low and _is_winding(role):
        remarks.append(
            "A winding that reads low may have shorted turns: compare its voltages or its inductance before you trust it."
        )
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
    return "In circuit other parts join the reading: lift one end before you condemn it."


def _is_winding(role: str) -> bool:
    return role in ROLES and ROLES[role].kind == "winding"


def _is_shifted_by_ten(called: Spec, measured: Spec) -> bool:
    ratio = measured.value / called.value
    return any(abs(ratio / power - 1) <= Decimal("0.1") for power in (Decimal("0.01"), Decimal("0.1"), Decimal(10), Decimal(100)))
