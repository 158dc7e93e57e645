"""Will this part do at this position? Rules and numbers are data: the tables that lie beside this file.

An answer is the worst of its reasons: "no" if any rule refuses, "warn" if any cautions, else "yes". A figure from
memory cautions and never refuses. Every reason is a sentence a repairer would say and names where it comes from.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation

from inventory.components.answers import (
    LEVELS,
    NOUNS,
    Answer,
    Candidate,
    Question,
    Reason,
    deviation_of,
    nothing_against,
    number_of,
    section_pairs,
    source_of,
)
from inventory.components.cord_rules import judge_chain, judge_mounting, judge_not_a_resistor
from inventory.components.line_rules import judge_class, judge_line_current, judge_line_volts
from inventory.components.materials import is_polarised, judge_material, technology_of
from inventory.components.ordering import careful_order, rank, rank_key
from inventory.components.problems import SubstitutionError
from inventory.components.rating_rules import judge_polarity, judge_volts, judge_warmth
from inventory.components.roles import Role
from inventory.components.roles import role as role_of
from inventory.components.specs import Spec
from inventory.components.supply_rules import judge_reservoir
from inventory.components.type_rules import judge_fuse, judge_metal_rectifier, judge_other_part, judge_valve
from inventory.components.value_rules import judge_value
from inventory.components.watt_rules import judge_watts

__all__ = ["Answer", "Candidate", "Reason", "SubstitutionError", "careful_order", "judge_substitute", "rank", "rank_key"]

_LARGEST, _SMALLEST = Decimal("1e18"), Decimal("1e-18")
_BEYOND = "A value or rating is beyond what any part has. Give it like 0.05 µF 400 V or 470 kΩ 1/2 W."


def judge_substitute(
    role: str,
    called: Spec | None,
    candidate: Candidate,
    *,
    called_type: str = "",
    rectifier: str = "",
    volts_working: Decimal | None = None,
    watts_dissipated: Decimal | None = None,
    supply: str = "",
    line_volts: Decimal | None = None,
    line_hertz: Decimal | None = None,
    chain: Sequence[str] = (),
    ambient_celsius: Decimal | None = None,
) -> Answer:
    """Judge one part for one position.

    `called` is the service data's value (None: not known), `called_type` its valve, lamp or transistor type; `rectifier` the
    rectifier's type where the position is a reservoir; working volts and dissipated watts where known; `supply` is
    transformerless, transformer, battery or vibrator. `line_volts` and `line_hertz` are the set's own line, `chain` the types
    of the valves whose heaters stand in series, `ambient_celsius` the warmth around the part. Whatever isn't known is left out.
    UnknownRole for a role that doesn't exist, SubstitutionError (out_of_range) for numbers that no part has.
    """
    volts_working = volts_working and volts_working.copy_abs()  # bias supplies lie below zero
    _check(called, candidate, (volts_working, watts_dissipated, line_volts, line_hertz), ambient_celsius)
    wanted = _meant(role_of(role), called)
    needed, offered = _as_judged(called, wanted.kind), _as_judged(candidate.spec, wanted.kind)
    pairs = section_pairs(needed, offered)
    technology = technology_of(candidate)
    ask = Question(
        wanted,
        needed,
        candidate,
        offered,
        technology,
        is_polarised(candidate, technology),
        pairs,
        deviation_of(pairs),
        called_type,
        rectifier,
        volts_working,
        watts_dissipated,
        supply,
        line_volts,
        line_hertz,
        chain,
        ambient_celsius,
    )
    reasons = sorted(_reasons(ask), key=_worst_first) or [nothing_against(ask)]
    return Answer(reasons[0].level, tuple(reasons), ask.deviation, _headroom(ask))


def _meant(wanted: Role, called: Spec | None) -> Role:
    """A line cord that is called for with a resistance is a resistance cord."""
    is_resistance = wanted.code == "line_cord" and called is not None and called.kind == "resistance"
    return role_of("line_cord_resistor") if is_resistance else wanted


def _worst_first(reason: Reason) -> int:
    return -LEVELS[reason.level]


def _check(called: Spec | None, candidate: Candidate, conditions: Sequence[Decimal | None], ambient: Decimal | None) -> None:
    for spec in (called, candidate.spec):
        if spec is None:
            continue
        if not _are_sane(_sizes_of(spec)):
            raise SubstitutionError("out_of_range", _BEYOND)
        if spec.tolerance_percent and not all(bound.is_finite() and abs(bound) < _LARGEST for bound in spec.tolerance_percent):
            raise SubstitutionError("out_of_range", "A tolerance is beyond what any part has. Give it like 10 % or -20/+80 %.")
    if not _are_sane(conditions):
        raise SubstitutionError("out_of_range", "Volts, watts and hertz are numbers from 0 up, like 250, 0.5 and 50.")
    for warmth in (ambient, candidate.max_celsius):
        if warmth is not None and not (warmth.is_finite() and abs(warmth) <= 1000):
            raise SubstitutionError("out_of_range", "Give temperatures in °C, like 40 or 85.")


def _sizes_of(spec: Spec) -> Iterator[Decimal | None]:
    yield spec.value.copy_abs() if spec.kind == "voltage" else spec.value
    yield spec.watts
    yield spec.volts and spec.volts.copy_abs()
    yield from spec.sections


def _are_sane(amounts: Iterable[Decimal | None]) -> bool:
    """Nothing, zero, or a number between what any part or line has. NaN can't be compared and is none."""
    try:
        return not any(amount and not _SMALLEST <= amount <= _LARGEST for amount in amounts)
    except InvalidOperation:
        return False


def _as_judged(spec: Spec | None, kind: str) -> Spec | None:
    """A "1/2 W" alone at a resistor's position is a rating whose value was left out; a "450 V" at a capacitor's likewise.

    The value becomes zero, which no rule takes for a value. Volts lose their sign.
    """
    if spec is None:
        return spec
    if spec.volts is not None and spec.volts < 0:
        spec = replace(spec, volts=-spec.volts)
    if kind == "resistance" and spec.kind == "power":
        return replace(spec, kind=kind, value=Decimal(0), watts=spec.value)
    if kind == "capacitance" and spec.kind == "voltage":
        return replace(spec, kind=kind, value=Decimal(0), volts=abs(spec.value))
    return spec


def _reasons(ask: Question) -> Iterator[Reason]:
    role = ask.role
    if role.heater_dropper:
        yield from _cord(ask)
    elif role.kind == "resistance":
        yield from _wrong_kind(ask) or _resistor(ask)
    elif role.kind == "capacitance":
        yield from _wrong_kind(ask) or _capacitor(ask)
    elif role.kind == "valve":
        yield from judge_valve(ask)
    elif role.code == "metal_rectifier":
        yield from judge_metal_rectifier(ask)
    elif role.code == "fuse":
        yield from judge_fuse(ask)
    else:
        yield from judge_other_part(ask)


def _kind_of(ask: Question) -> str:
    return ask.offered.kind if ask.offered is not None else ask.candidate.kind


def _wrong_kind(ask: Question) -> tuple[Reason, ...]:
    if _kind_of(ask) != ask.role.kind:
        text = f"This is not a {NOUNS[ask.role.kind]}; the {ask.role.place} needs one."
        return (Reason("kind", "no", text, ask.role.source),)
    if ask.offered is None:
        return (Reason("unmarked", "warn", "Its value is not recorded. Measure it and enter it first.", source_of("called")),)
    return ()


def _resistor(ask: Question) -> Iterator[Reason]:
    yield from judge_value(ask)
    yield from judge_material(ask)
    yield from judge_watts(ask)


def _capacitor(ask: Question) -> Iterator[Reason]:
    yield from judge_value(ask)
    yield from judge_material(ask)
    yield from judge_polarity(ask)
    yield from judge_class(ask)
    if ask.role.safety:
        yield from judge_line_volts(ask)
        yield from judge_line_current(ask)
    else:
        yield from judge_volts(ask)
        yield from judge_warmth(ask)
        yield from judge_reservoir(ask)


def _cord(ask: Question) -> Iterator[Reason]:
    if _kind_of(ask) != "resistance":
        yield from judge_not_a_resistor(ask)
        return
    if ask.offered is None:
        yield from _wrong_kind(ask)
    else:
        yield from _resistor(ask)
        yield from judge_chain(ask)
    yield from judge_mounting(ask)


def _headroom(ask: Question) -> Decimal | None:
    """Rated volts or watts over those needed, for ordering. On the line every class part is rated for it."""
    called, offered = ask.called, ask.offered
    if offered is None or ask.role.safety:
        return None
    if ask.role.kind == "capacitance":
        rated, asked = offered.volts, (called.volts if called else None, ask.volts_working)
    else:
        hot = ask.watts_dissipated * number_of("power", "factor") if ask.watts_dissipated is not None else None
        rated, asked = offered.watts, (called.watts if called else None, hot)
    needed = max((one for one in asked if one), default=None)
    return rated / needed if rated is not None and needed is not None else None
