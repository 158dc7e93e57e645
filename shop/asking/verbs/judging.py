"""Questions a repairer asks at the bench: is this reading all right, will this part do, does the set leak too much."""

from decimal import Decimal
from typing import Any

from inventory.components.notation import NotationError, read_notation
from inventory.components.roles import Role, find_role
from inventory.components.specs import Spec
from inventory.components.substitution import Answer, Candidate, judge_substitute
from jobs.bench.leaks import USUAL_PRACTICE, judge_leak
from jobs.bench.practice import practice_band, usual_practice
from jobs.bench.safety import PRACTICES
from jobs.bench.verdicts import Judgement, judge
from shop.asking.fields import Question, number_of
from shop.asking.refusals import Refusal
from shop.asking.verb import Verb
from shop.asking.verbs.notation import as_result, kind_of, number

SUPPLIES = ("transformerless", "transformer", "battery", "vibrator")
QUANTITIES = ("resistance", "capacitance", "inductance")
# Two doubtful notations of at most five readings each.
MOST_READINGS = 25


def _ways(text: str, kind: str | None, *, today: bool = False) -> tuple[NotationError | None, list[tuple[Spec, str]]]:
    """Every way to read a notation; the error that says so where there is more than one. `today`: no old sheet wrote it."""
    try:
        return None, [(read_notation(text, kind, old_american=False if today else None), "")]
    except NotationError as error:
        if error.code != "ambiguous":
            raise
        return error, [(one.spec, one.why) for one in error.readings]


def _over_readings(error: NotationError, results: list[dict[str, Any]]) -> Refusal:
    return Refusal("ambiguous", error.message, results[:MOST_READINGS])


# judge
def _judge(question: Question) -> dict[str, Any]:
    kind = kind_of(question)
    called_text, measured = question.text("called", "470K 10%"), question.text("measured", "520 k")
    role = find_role(question.text("role", "choke")) if question.raw("role") is not None else None
    code = role.code if role else ""
    tolerance = _band(question, "tolerance_percent")
    practice = usual_practice(code, _band(question, "practice"))
    if role is not None and role.kind == "valve":
        return _judged(judge(None, measured, role=code), None, "")
    error, called = _ways(called_text, kind or ("resistance" if role is not None and role.kind == "winding" else None))
    results = []
    for spec, why in called:
        try:
            found = judge(spec, measured, tolerance_percent=tolerance, practice_percent=practice, role=code)
            results.append(_judged(found, spec, why))
        except NotationError as doubtful:
            if doubtful.code != "ambiguous":
                raise
            error = error or doubtful
            for one in doubtful.readings:
                found = judge(spec, one.spec, tolerance_percent=tolerance, practice_percent=practice, role=code)
                results.append({**_judged(found, spec, why), "measured": as_result(one.spec), "why_measured": one.why})
    if error is not None:
        raise _over_readings(error, results)
    return results[0]


def _judged(found: Judgement, called: Spec | None, why: str) -> dict[str, Any]:
    said: dict[str, Any] = {
        "verdict": found.verdict,
        "deviation_percent": number(found.deviation_percent),
        "limits": None if found.limits is None else [float(one) for one in found.limits],
        "reasons": list(found.reasons),
    }
    return {**said, "called": as_result(called), "why": why} if called is not None and why else said


def _band(question: Question, name: str) -> Any:
    """A practice or tolerance: percent either way, or signed [low, high]."""
    value = question.raw(name)
    if value is None:
        return None
    if isinstance(value, list):
        if len(value) != 2:
            raise Refusal("unreadable", f"“{name}” needs two numbers, like [-20, 80], or one, like 20.")
        return practice_band((number_of(value[0], name, "-20"), number_of(value[1], name, "80")))
    return practice_band(number_of(value, name, "20"))


# substitute
def _substitute(question: Question) -> dict[str, Any]:
    role = find_role(question.text("role", "coupling"))
    conditions = {
        "rectifier": question.optional_text("rectifier", "5Y3-GT"),
        "volts_working": _above_zero(question, "volts_working", "250"),
        "watts_dissipated": _above_zero(question, "watts_dissipated", "0.5"),
        "supply": question.choice("supply", SUPPLIES, default="") if question.raw("supply") is not None else "",
    }
    called, candidate = question.optional_text("called", "0.05 µF 400 V"), question.text("candidate", "0.047 µF 630 V")
    if role.kind not in QUANTITIES or (role.heater_dropper and not candidate.strip()[:1].isdigit()):
        return _typed(role, called, candidate, conditions)
    return _valued(role, called, candidate, conditions)


def _above_zero(question: Question, name: str, example: str) -> Decimal | None:
    value = question.optional_number(name, example)
    if value is not None and not 0 <= value <= 1_000_000:
        raise Refusal("out_of_range", f"“{name}” is {value:.6g}. Give a number from 0 to 1000000, like {example}.")
    return value


def _typed(role: Role, called: str, candidate: str, conditions: dict[str, Any]) -> dict[str, Any]:
    """Valves, lamps, transformers, cords: judged by type, and by their resistance where it is written so."""
    kind = "other" if role.kind in QUANTITIES else role.kind
    offered = Candidate(_maybe(candidate, role), kind, valve_type=candidate.strip(), label=candidate.strip())
    return _answered(judge_substitute(role.code, _maybe(called, role), offered, called_type=called.strip(), **conditions))


def _maybe(text: str, role: Role) -> Spec | None:
    if role.kind in ("valve", "lamp") or not text.strip()[:1].isdigit():
        return None
    try:
        return read_notation(text, "resistance" if role.kind == "winding" else None)
    except NotationError:
        return None


def _valued(role: Role, called: str, candidate: str, conditions: dict[str, Any]) -> dict[str, Any]:
    error, wanted = _rated(called, role.kind) if called.strip() else (None, [(None, "")])
    doubtful, offered = _rated(candidate, role.kind, today=True)
    results = [
        {
            **_answered(judge_substitute(role.code, first, Candidate(second, second.kind), **conditions)),
            **({"called": as_result(first), "why_called": why} if first is not None and why else {}),
            **({"candidate": as_result(second), "why_candidate": reason} if reason else {}),
        }
        for first, why in wanted
        for second, reason in offered
    ]
    if error or doubtful:
        raise _over_readings(error or doubtful, results)  # type: ignore[arg-type]
    return results[0]


def _rated(text: str, kind: str, *, today: bool = False) -> tuple[NotationError | None, list[tuple[Any, str]]]:
    """A marking at a position of a kind. A rating alone (1/2 W, 450 V), or a part of another kind, is read by its unit."""
    try:
        return _ways(text, kind, today=today)
    except NotationError as error:
        if error.code != "unreadable":
            raise
        try:
            return _ways(text, None, today=today)
        except NotationError:
            raise error from None


def _answered(given: Answer) -> dict[str, Any]:
    return {
        "answer": given.answer,
        "reasons": [{"code": one.code, "message": one.message, "source": one.source} for one in given.reasons],
    }


# leakage
def _leakage(question: Question) -> dict[str, Any]:
    practice = question.optional_text("practice", USUAL_PRACTICE) or USUAL_PRACTICE
    readings = {"volts_rms": "0.3", "amps": "0.0002", "cold_ohms": "3e6"}
    given = {name: question.number(name, example) for name, example in readings.items() if question.raw(name) is not None}
    if len(given) != 1:
        raise Refusal("unreadable", "Give one of “volts_rms” (across the standard network), “amps” and “cold_ohms”.")
    found = judge_leak(**given, practice=practice)  # type: ignore[arg-type]
    return {
        "passed": found.passed,
        "limit": float(found.limit),
        "unit": found.unit,
        "message": found.sentence,
        "source": found.source,
    }


VERBS = (
    Verb(
        "judge",
        "called, measured (notations; measured may also be open, short, leaky, ESR 2.5 Ω, 72 % of a valve); optional kind, "
        "tolerance_percent, practice (percent either way, or [low, high]), role",
        "verdict, deviation_percent, limits [low, high] in the SI base unit, reasons",
        {"called": "470K 10%", "measured": "560k"},
        _judge,
    ),
    Verb(
        "substitute",
        "role, called, candidate (notations, or types of valve); optional rectifier, volts_working, watts_dissipated, "
        f"supply ({', '.join(SUPPLIES)})",
        "answer (yes, warn, no), reasons [{code, message, source}]",
        {"role": "reservoir", "called": "20 µF 450 V", "candidate": "47 µF 450 V", "rectifier": "5Y3-GT"},
        _substitute,
    ),
    Verb(
        "leakage",
        f"one of volts_rms (across 1.5 kΩ with 0.15 µF), amps, cold_ohms; practice ({', '.join(PRACTICES)})",
        "passed, limit with its unit, message, source",
        {"volts_rms": 0.74, "practice": USUAL_PRACTICE},
        _leakage,
    ),
)
