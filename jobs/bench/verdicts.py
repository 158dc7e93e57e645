"""What a reading means: the verdict on a measured part against the value called for."""

from decimal import Decimal

from inventory.components.notation import NotationError, read_measured
from inventory.components.specs import Band, Spec
from inventory.components.writing import write_value
from jobs.bench.comparing import LIFT_ONE_END, OTHER_PARTS, band_for, compare
from jobs.bench.leaking import judge_insulation, judge_leakage
from jobs.bench.practice import Picked, usual_practice
from jobs.bench.problems import BenchError
from jobs.bench.readings import VERDICTS, Judgement
from jobs.bench.worded import is_valve, is_winding, judge_words, without_label

__all__ = ["LIFT_ONE_END", "VERDICTS", "Judgement", "judge"]

# What a part of a kind may be measured in besides its own kind.
_OTHER_WAYS = {"capacitance": ("resistance", "current"), "inductance": ("resistance",), "resistance": ()}


def judge(
    called: Spec | None,
    measured: Spec | str,
    *,
    tolerance_percent: Decimal | Band | None = None,
    practice_percent: Decimal | Picked | None = None,
    in_circuit: bool = False,
    kind: str | None = None,
    role: str = "",
) -> Judgement:
    """Judge a reading: a Spec, a notation, or words such as open, OL, short, leaks 0.3 mA at 250 V, ESR 2.5 Ω, 72 %.

    The limits: `tolerance_percent` (± or signed low, high), else the tolerance called for, else the practice (±20 %; windings
    ±30 %). What lies exactly at a limit is within. `role` as in roles.toml: a valve is judged by its tester's reading.
    NotationError where the reading can't be read, BenchError where tolerance or value can't be.
    """
    if isinstance(measured, str):
        worded = judge_words(called, measured, role)
        if worded is not None:
            return _in_circuit(worded, role) if in_circuit else worded
        measured = _read(without_label(measured), kind or (called.kind if called else _kind_of(role)))
    _check(called, measured)
    if called is None:
        return _nothing_called_for(measured, role)
    if measured.kind != called.kind:
        other = _other_kind(called, measured)
        return _in_circuit(other, role) if in_circuit else other
    picked = practice_percent if isinstance(practice_percent, Picked) else usual_practice(role, practice_percent)
    return compare(called, measured, band_for(called, tolerance_percent, picked), in_circuit=in_circuit, role=role)


def _kind_of(role: str) -> str | None:
    """What a bare number means at a winding whose value nobody called for."""
    return "resistance" if is_winding(role) else None


def _read(text: str, wanted: str | None) -> Spec:
    """A value in the wanted kind, or in the kind its unit names: a capacitor may also be measured in ohms or milliamps."""
    if wanted is not None:
        named = _by_its_unit(text)
        if named is not None and (named.kind == wanted or named.kind in _OTHER_WAYS.get(wanted, ())):
            return named
    try:
        return read_measured(text, wanted)
    except NotationError as refused:
        if refused.code != "unreadable":
            raise
        named = _by_its_unit(text)
        if named is None:
            raise
        return named


def _by_its_unit(text: str) -> Spec | None:
    """The only reading of the text by itself, None when it needs a kind."""
    try:
        return read_measured(text)
    except NotationError:
        return None


def _check(called: Spec | None, measured: Spec) -> None:
    for spec, what in ((called, "called for"), (measured, "measured")):
        if spec is not None and not all(one.is_finite() for one in (spec.value, *spec.sections)):
            raise BenchError("out_of_range", f"The value {what} isn't a number. Give it like 470 kΩ.")
    if measured.kind in ("resistance", "capacitance", "inductance") and measured.value < 0:
        raise BenchError("out_of_range", f"A measured {measured.kind} can't be below zero. Give what the meter shows.")


def _nothing_called_for(measured: Spec, role: str) -> Judgement:
    text = "Nothing is called for at this position, so there is nothing to compare the reading with."
    if _kind_of(role) and measured.kind == "resistance":
        text = (
            f"It reads {write_value(measured.value, 'resistance')}, so it isn't open; no resistance is called for to judge it by."
        )
    return Judgement("not_measured", None, None, (text,))


def _other_kind(called: Spec, measured: Spec) -> Judgement:
    reads = write_value(measured.value, measured.kind)
    if called.kind == "capacitance" and measured.kind == "resistance":
        return judge_insulation(called, measured.value, measured.volts)
    if called.kind == "capacitance" and measured.kind == "current":
        return judge_leakage(called, measured.value, measured.volts)
    if {called.kind, measured.kind} == {"inductance", "resistance"}:
        text = f"It reads {reads}; {write_value(called.value, called.kind)} is called for, which that reading doesn't prove."
        return Judgement("not_measured", None, None, (text,))
    wanted = f"{_with_article(called.kind)} of {write_value(called.value, called.kind)}"
    text = f"{wanted[0].upper()}{wanted[1:]} is called for; the reading is {_with_article(measured.kind)}."
    return Judgement("wrong_part", None, None, (text,))


def _with_article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def _in_circuit(judgement: Judgement, role: str) -> Judgement:
    """A fault read in words or in another quantity may be a neighbour's; an open can't be, as neighbours only add a path."""
    if judgement.verdict not in ("shorted", "leaky", "drifted") or is_valve(role):
        return judgement
    return Judgement(judgement.verdict, judgement.deviation_percent, judgement.limits, (*judgement.reasons, OTHER_PARTS))
