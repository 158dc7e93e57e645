"""One leakage or insulation reading of a whole set against a safety practice, whatever instrument it was taken with."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.writing import write_value
from jobs.bench.problems import BenchError
from jobs.bench.safety import NETWORK_OHMS, PRACTICES, Practice, SafetyTest, UnknownPractice, find_practice

USUAL_PRACTICE = "hot_check_075"
_KINDS = {"volts_rms": "voltage", "amps": "current", "cold_ohms": "resistance"}
_UNITS = {"volts_rms": "V", "amps": "A", "cold_ohms": "ohm"}
# What a unit of practices.toml is in SI base units.
_SCALE = {"V": Decimal(1), "mA": Decimal("1e-3"), "Ω": Decimal(1), "MΩ": Decimal("1e6")}
# The tests that a reading may stand for, the strictest insulation first: nobody says here how the set is earthed.
_TESTS = {
    "volts_rms": ("hot_volts",),
    "amps": ("hot_milliamps", "touch_milliamps"),
    "cold_ohms": ("cold_megohms", "insulation_class_2_megohms", "insulation_class_1_megohms"),
}


@dataclass(frozen=True, slots=True)
class LeakAnswer:
    """`limit` in `unit` (V, A or ohm): the most for volts and amps, the least for ohms. `sentence` says it in words."""

    passed: bool
    limit: Decimal
    unit: str
    sentence: str
    source: str


def judge_leak(
    *,
    volts_rms: Decimal | None = None,
    amps: Decimal | None = None,
    cold_ohms: Decimal | None = None,
    practice: str = USUAL_PRACTICE,
) -> LeakAnswer:
    """Judge one of: volts across the standard network (1.5 kΩ ∥ 0.15 µF), leakage in amps, resistance of the unplugged set.

    `practice` is a code of practices.toml or another name of it; without one the hot check at 0.75 V counts, as most sets are
    tested so. A voltage under a practice that gives a current is compared by the network's 1.5 kΩ: 0.75 V are 0.5 mA.
    BenchError: `unknown` practice or one without such a limit, `out_of_range` reading. Source: practices.toml.
    """
    given = [
        (name, value) for name, value in (("volts_rms", volts_rms), ("amps", amps), ("cold_ohms", cold_ohms)) if value is not None
    ]
    if len(given) != 1:
        raise BenchError("out_of_range", "Give one reading: volts_rms across the network, amps, or cold_ohms.")
    ((name, value),) = given
    if value.is_nan() or value < 0 or (value.is_infinite() and name != "cold_ohms"):
        raise BenchError("out_of_range", f"{name} can't be {value}. Give what the meter shows, zero or more.")
    limit, test = _limit(_known(practice), name)
    if name == "cold_ohms" and test.is_too_much(value / _SCALE[test.unit]):
        return _in_between(value, test)
    passed = value >= limit if name == "cold_ohms" else value <= limit
    return LeakAnswer(passed, limit, _UNITS[name], _sentence(name, value, limit, passed), test.source)


def _in_between(value: Decimal, test: SafetyTest) -> LeakAnswer:
    """More than a return path to the chassis has, and less than none at all."""
    most = (test.most or test.limit) * _SCALE[test.unit]
    text = (
        f"{write_value(value, 'resistance')} against {test.limit_text}: it fails. Metal with a return path to the chassis reads "
        "less, metal without one endless: find what conducts."
    )
    return LeakAnswer(False, most, "ohm", text, test.source)


def _known(name: str) -> Practice:
    try:
        return find_practice(name)
    except UnknownPractice:
        shown = "".join(one for one in name[:30] if one.isprintable())
        raise BenchError("unknown", f"“{shown}” is no safety practice on file. Use one of {', '.join(PRACTICES)}.") from None


def _limit(practice: Practice, name: str) -> tuple[Decimal, SafetyTest]:
    """The limit in SI base units and the test that it is of."""
    found = _find(practice, _TESTS[name])
    if found is not None:
        return found.limit * _SCALE[found.unit], found
    current = _find(practice, _TESTS["amps"]) if name == "volts_rms" else None
    if current is not None:
        return current.limit * _SCALE[current.unit] * NETWORK_OHMS, current
    able = [
        one.code for one in PRACTICES.values() if _find(one, _TESTS[name]) or (name == "volts_rms" and _find(one, _TESTS["amps"]))
    ]
    raise BenchError("unknown", f"{practice.label} gives no limit for {name}. Use one of {', '.join(able)}.")


def _find(practice: Practice, codes: tuple[str, ...]) -> SafetyTest | None:
    by_code = {test.code: test for test in practice.tests}
    return next((by_code[code] for code in codes if code in by_code), None)


def _sentence(name: str, value: Decimal, limit: Decimal, passed: bool) -> str:
    kind = _KINDS[name]
    reads = "no reading at all" if value.is_infinite() else write_value(value, kind)
    bound = f"{'at least' if name == 'cold_ohms' else 'at most'} {write_value(limit, kind)}"
    return f"{reads} against {bound}: it {'passes' if passed else 'fails; the set must not leave so'}."
