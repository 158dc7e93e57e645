"""What a reading means: the verdict on a measured part against the value called for."""

import re
from decimal import Decimal

from inventory.components.notation import NotationError, read_measured
from inventory.components.roles import ROLES
from inventory.components.specs import Band, Spec
from inventory.components.writing import write_value
from jobs.bench.comparing import LIFT_ONE_END, band_for, compare
from jobs.bench.esr import esr_text, judge_esr
from jobs.bench.insulation import insulation_text, judge_insulation_of
from jobs.bench.leaking import judge_insulation, judge_leakage
from jobs.bench.practice import Picked, practice_band
from jobs.bench.readings import VERDICTS, Judgement
from jobs.bench.tester import judge_tester

__all__ = ["LIFT_ONE_END", "VERDICTS", "Judgement", "judge"]

_OPEN = frozenset(
    {"open", "o/c", "oc", "ol", "o.l", "o.l.", "0l", "over", "overload", "infinite", "infinity", "inf", "∞", "open circuit"}
)
_SHORTED = frozenset({"short", "shorted", "s/c", "sc", "short circuit", "dead short"})
_NOT_MEASURED = frozenset({"", "-", "--", "n/a", "na", "not measured", "?"})
_LEAKY = re.compile(r"(?i)leaky\b[:,]?\s*(.*)", re.DOTALL)


def judge(
    called: Spec | None,
    measured: Spec | str,
    *,
    tolerance_percent: Decimal | Band | None = None,
    practice_percent: Decimal | Picked = Decimal(20),
    in_circuit: bool = False,
    kind: str | None = None,
    role: str = "",
) -> Judgement:
    """Judge a reading: a Spec, a notation, or words such as open, OL, short, leaky 2 M, ESR 2.5 Ω; empty is not measured.

    The limits: `tolerance_percent` (± or signed low, high), else the tolerance called for, else the practice. `role` as in
    roles.toml: a valve is judged by its tester's reading. NotationError where the reading can't be read, BenchError where the
    tolerance can't be.
    """
    picked = (
        practice_percent if isinstance(practice_percent, Picked) else Picked(practice_band(practice_percent), "by shop practice")
    )
    if isinstance(measured, str):
        worded = _worded(called, measured, role)
        if worded is not None:
            return worded
        measured = _read(called, measured, kind)
    if called is None:
        text = "Nothing is called for at this position, so there is nothing to compare the reading with."
        return Judgement("not_measured", None, None, (text,))
    if measured.kind != called.kind:
        return _other_kind(called, measured)
    return compare(called, measured, band_for(called, tolerance_percent, picked), in_circuit=in_circuit, role=role)


def _worded(called: Spec | None, text: str, role: str) -> Judgement | None:
    """The verdict of a reading that names its verdict or another quantity than the value; None when it is a value."""
    words = " ".join(text.lower().split())[:100]
    if words in _NOT_MEASURED:
        return Judgement("not_measured", None, None, ("No reading was entered.",))
    if words in _OPEN:
        return Judgement("open", None, None, ("It reads open.",))
    if words in _SHORTED:
        return Judgement("shorted", None, None, ("It reads as a short.",))
    if role in ROLES and ROLES[role].kind == "valve":
        return judge_tester(text) or _untested()
    ohms = esr_text(text)
    if ohms is not None:
        return judge_esr(called, ohms)
    apart = insulation_text(text) if role in ROLES and ROLES[role].kind == "winding" else None
    if apart is not None:
        return judge_insulation_of(role, apart)
    leaky = _LEAKY.fullmatch(text.strip())
    return _leaky(leaky.group(1)) if leaky else None


def _untested() -> Judgement:
    text = "Write the tester's reading like 72 %, 4.2 of 5.5, or 72, reject 60; or give the verdict by hand."
    return Judgement("not_measured", None, None, (text,))


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


def _other_kind(called: Spec, measured: Spec) -> Judgement:
    if called.kind == "capacitance" and measured.kind == "resistance":
        return judge_insulation(called, measured.value)
    if called.kind == "capacitance" and measured.kind == "current":
        return judge_leakage(called, measured.value)
    wanted = f"{_with_article(called.kind)} of {write_value(called.value, called.kind)}"
    text = f"{wanted[0].upper()}{wanted[1:]} is called for; the reading is {_with_article(measured.kind)}."
    return Judgement("wrong_part", None, None, (text,))


def _with_article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
