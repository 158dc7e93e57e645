"""Electrical safety checks: which readings a practice asks for, what each may be, and whether a check as a whole holds.

The limits are published figures (practices.toml). They don't replace local codes or a licensed person's judgement; pages say so.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import hypot, pi
from types import MappingProxyType
from typing import Any

from inventory.components.tables import toml_table

NETWORK_OHMS = Decimal(1500)
NETWORK_FARADS = Decimal("0.15e-6")
DEFERENCE = "Local codes and the judgement of a licensed person come first; these are published limits, not a permit."


class UnknownPractice(KeyError):
    """A practice or test code that practices.toml does not have."""


@dataclass(frozen=True, slots=True)
class SafetyTest:
    """One measurement. `limit` in `unit` (V, mA, Ω or MΩ), `op` <= or >=; `live` ones are void behind isolation.

    With `most` a resistance lies between `limit` and that, or is endless, as from `endless_from` on no common meter shows it.
    `applies`: always, earthed or unearthed sets; any other word names a case of its own that no radio is asked for.
    `dc_volts` is what insulation is tested with, `dc_volts_delicate` where that would harm.
    """

    code: str
    label: str
    unit: str
    op: str
    limit: Decimal
    per_polarity: bool
    per_switch: bool
    source: str
    note: str = ""
    applies: str = "always"
    live: bool = False
    stands_for: str = ""
    most: Decimal | None = None
    endless_from: Decimal | None = None
    dc_volts: int | None = None
    dc_volts_delicate: int | None = None

    @property
    def limit_text(self) -> str:
        """E.g. "at most 0.75 V"."""
        words = f"{'at most' if self.op == '<=' else 'at least'} {self.limit:f} {self.unit}"
        if self.most is None:
            return words
        return f"{words}, up to {self.most:f} {self.unit}, or endless (from {self.endless_from:f})"

    def allows(self, value: Decimal) -> bool:
        """Whether a reading in the test's unit meets the limit. Infinity meets every "at least"."""
        if self.op == "<=":
            return value <= self.limit
        return value >= self.limit and not self.is_too_much(value)

    def is_too_much(self, value: Decimal) -> bool:
        """Whether a resistance is more than a return path has and less than no path at all."""
        if self.most is None or self.endless_from is None:
            return False
        return self.most < value < self.endless_from

    def concerns(self, earthed: bool) -> bool:
        """Whether a set with or without protective earth is tested so."""
        return self.applies in ("always", "earthed" if earthed else "unearthed")


@dataclass(frozen=True, slots=True)
class Practice:
    """A published way to check a set before it leaves the shop."""

    code: str
    label: str
    tests: tuple[SafetyTest, ...]
    source: str
    also: tuple[str, ...] = ()

    def test(self, code: str) -> SafetyTest:
        """The test of that code; UnknownPractice otherwise."""
        for one in self.tests:
            if one.code == code:
                return one
        raise UnknownPractice(
            f"{code[:40]!r} is not a test of {self.label}; use one of {', '.join(one.code for one in self.tests)}."
        )


@dataclass(frozen=True, slots=True)
class RequiredReading:
    """One reading to take. `polarity` normal, reversed or ""; `switch` on, off or ""."""

    test: SafetyTest
    polarity: str = ""
    switch: str = ""


@dataclass(frozen=True, slots=True)
class TakenReading:
    """One reading taken, `value` in the test's unit."""

    test_code: str
    value: Decimal
    polarity: str = ""
    switch: str = ""


@dataclass(frozen=True, slots=True)
class ReadingResult:
    """Whether one reading meets its limit."""

    passed: bool
    limit_text: str
    source: str


@dataclass(frozen=True, slots=True)
class FailedReading:
    """A reading that did not meet its limit."""

    reading: TakenReading
    result: ReadingResult


@dataclass(frozen=True, slots=True)
class CheckResult:
    """A whole check. It passed only when nothing is missing, nothing failed and nothing makes it void."""

    passed: bool
    missing: tuple[RequiredReading, ...]
    failed: tuple[FailedReading, ...]
    invalid_reasons: tuple[str, ...]


def _test(row: Mapping[str, Any]) -> SafetyTest:
    switches = {"per_polarity": False, "per_switch": False}
    figures = {name: Decimal(row[name]) for name in ("limit", "most", "endless_from") if name in row}
    return SafetyTest(**{**switches, **row, **figures})


def _practice(row: Mapping[str, Any]) -> Practice:
    tests = tuple(_test(test) for test in row["test"])
    return Practice(row["code"], row["label"], tests, row["source"], tuple(row.get("also", ())))


PRACTICES: Mapping[str, Practice] = MappingProxyType(
    {row["code"]: _practice(row) for row in toml_table("jobs.bench", "practices.toml")["practice"]}
)


def practice(code: str) -> Practice:
    """The practice of that code; UnknownPractice otherwise."""
    if code not in PRACTICES:
        raise UnknownPractice(f"{code[:40]!r} is not a practice; use one of {', '.join(PRACTICES)}.")
    return PRACTICES[code]


def find_practice(name: str) -> Practice:
    """The practice of that code, or of another name it goes by ("VDE 0701-0702", "PAT"); UnknownPractice otherwise."""
    wanted = " ".join(name[:60].lower().split())
    named = (one for one in PRACTICES.values() if wanted in (one.code, one.label.lower(), *(also.lower() for also in one.also)))
    return next(named, None) or practice(name)


def required_readings(practice_code: str, *, earthed: bool) -> tuple[RequiredReading, ...]:
    """Every reading a set needs under a practice. `earthed`: its cord has a protective conductor joined to the metal."""
    tests = [test for test in practice(practice_code).tests if test.concerns(earthed) and not test.stands_for]
    return tuple(
        RequiredReading(test, polarity, switch)
        for test in tests
        for polarity in (("normal", "reversed") if test.per_polarity else ("",))
        for switch in (("on", "off") if test.per_switch else ("",))
    )


def judge_reading(practice_code: str, test_code: str, value: Decimal) -> ReadingResult:
    """One reading, in the test's unit, against its limit. A negative or undefined reading never passes."""
    test = practice(practice_code).test(test_code)
    return ReadingResult(not value.is_nan() and value >= 0 and test.allows(value), test.limit_text, test.source)


def judge_check(
    practice_code: str, readings: Iterable[TakenReading], *, behind_isolating_transformer: bool, earthed: bool
) -> CheckResult:
    """A whole check: what is missing, what failed, and what makes it void. One bad reading fails it, whatever was read later."""
    taken = tuple(readings)
    rules = practice(practice_code)
    results = [(reading, judge_reading(practice_code, reading.test_code, reading.value)) for reading in taken]
    failed = tuple(FailedReading(reading, result) for reading, result in results if not result.passed)
    missing = tuple(needed for needed in required_readings(practice_code, earthed=earthed) if not _is_taken(rules, needed, taken))
    invalid = _invalid_reasons(rules, taken, behind_isolating_transformer)
    return CheckResult(not (failed or missing or invalid), missing, failed, invalid)


def _is_taken(rules: Practice, needed: RequiredReading, taken: tuple[TakenReading, ...]) -> bool:
    codes = {needed.test.code} | {test.code for test in rules.tests if test.stands_for == needed.test.code}
    return any(one.test_code in codes and (one.polarity, one.switch) == (needed.polarity, needed.switch) for one in taken)


def _invalid_reasons(rules: Practice, taken: tuple[TakenReading, ...], isolated: bool) -> tuple[str, ...]:
    live = sorted({rules.test(reading.test_code).label for reading in taken if rules.test(reading.test_code).live})
    if not isolated or not live:
        return ()
    text = (
        "An isolating transformer breaks the path this check is about. Take it again straight on the line, with the usual care: "
    )
    return tuple(f"{text}{label}." for label in live)


def network_ohms(frequency_hz: float) -> float:
    """Impedance of the standard network, 1.5 kΩ in parallel with 0.15 µF, in ohms."""
    conductance, susceptance = 1 / float(NETWORK_OHMS), 2 * pi * frequency_hz * float(NETWORK_FARADS)
    return 1 / hypot(conductance, susceptance)


def network_milliamps(volts_rms: float, frequency_hz: float) -> float:
    """Leakage current in mA that gives `volts_rms` across the standard network."""
    return volts_rms / network_ohms(frequency_hz) * 1000


def earth_limit_ohms(cord_metres: Decimal) -> Decimal:
    """VDE 0701-0702 limit of the protective conductor: 0.3 Ω up to 5 m and 0.1 Ω for each further 7.5 m begun, 1 Ω at most."""
    usual = practice("vde_0701_0702").test("earth_ohms").limit
    if cord_metres.is_nan() or cord_metres <= 5:
        return usual
    further = -(-(min(cord_metres, Decimal(1000)) - 5) // Decimal("7.5"))
    return min(usual + Decimal("0.1") * further, Decimal(1))


def earth_current_limit_milliamps(heating_kilowatts: Decimal = Decimal(0)) -> Decimal:
    """VDE 0701-0702 limit of the protective conductor current: 3.5 mA; with heating above 3.5 kW 1 mA a kilowatt, up to 10 mA."""
    rules = practice("vde_0701_0702")
    usual, most = rules.test("earth_milliamps").limit, rules.test("earth_heating_milliamps").limit
    return min(heating_kilowatts, most) if heating_kilowatts > usual else usual
