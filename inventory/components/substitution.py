"""Will this part do at this position? Rules and numbers are data (roles.toml, substitution.toml, rectifiers.csv, valves.csv).

An answer is the worst of its reasons: "no" if any rule refuses, "warn" if any cautions, else "yes". A figure from
memory cautions and never refuses. Every reason is a sentence a repairer would say and names where it comes from.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from inventory.components.answers import (
    LEVELS,
    NOUNS,
    Answer,
    Candidate,
    Question,
    Reason,
    deviation_of,
    nothing_against,
    offered_kind,
    source_of,
)
from inventory.components.rating_rules import judge_material, judge_polarity, judge_volts, judge_watts
from inventory.components.roles import role as role_of
from inventory.components.specs import Spec
from inventory.components.supply_rules import judge_reservoir, judge_safety
from inventory.components.type_rules import judge_other_part, judge_valve
from inventory.components.value_rules import judge_value

__all__ = ["Answer", "Candidate", "Reason", "judge_substitute", "rank", "rank_key"]


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
) -> Answer:
    """Judge one part for one position.

    `called` is the service data's value (None: not known), `called_type` its valve, lamp or transistor type; `rectifier` the
    rectifier's type where the position is a reservoir; working volts and dissipated watts where known; `supply` is
    transformerless, transformer, battery or vibrator.
    """
    wanted = role_of(role)
    ask = Question(
        wanted,
        _without_bare_rating(called, wanted.kind),
        replace(candidate, spec=_without_bare_rating(candidate.spec, wanted.kind)),
        called_type,
        rectifier,
        volts_working,
        watts_dissipated,
        supply,
    )
    reasons = tuple(sorted(_reasons(ask), key=lambda reason: -LEVELS[reason.level]))
    worst = max((reason.level for reason in reasons), key=LEVELS.__getitem__, default="yes")
    return Answer(worst, reasons or (nothing_against(ask),), deviation_of(ask))


def rank_key(answer: Answer) -> tuple[int, Decimal, int]:
    """Sort key: yes, warn, no; within each the closest value first, then the fewest reservations."""
    distance = abs(answer.deviation_percent) if answer.deviation_percent is not None else Decimal(10**6)
    return LEVELS[answer.answer], distance, sum(reason.level != "yes" for reason in answer.reasons)


def rank(answers: Iterable[Answer]) -> list[Answer]:
    """The answers, best first."""
    return sorted(answers, key=rank_key)


def _without_bare_rating(spec: Spec | None, kind: str) -> Spec | None:
    """A "1/2 W" alone at a resistor's position is a rating whose value was left out; a "450 V" at a capacitor's likewise.

    The value becomes zero, which no rule takes for a value.
    """
    if spec is not None and kind == "resistance" and spec.kind == "power":
        return replace(spec, kind=kind, value=Decimal(0), watts=spec.value)
    if spec is not None and kind == "capacitance" and spec.kind == "voltage":
        return replace(spec, kind=kind, value=Decimal(0), volts=spec.value)
    return spec


def _reasons(ask: Question) -> Iterator[Reason]:
    if ask.role.kind == "valve":
        yield from judge_valve(ask)
        return
    if ask.role.kind not in ("resistance", "capacitance"):
        yield from judge_other_part(ask)
        return
    if offered_kind(ask) != ask.role.kind:
        yield Reason("kind", "no", f"This is not a {NOUNS[ask.role.kind]}; {ask.role.label.lower()} needs one.", ask.role.source)
        return
    if ask.offered is None:
        yield Reason("unmarked", "warn", "Its value is not recorded. Measure it and enter it first.", source_of("called"))
        return
    yield from judge_value(ask)
    yield from judge_material(ask)
    if ask.role.kind == "resistance":
        yield from judge_watts(ask)
    else:
        yield from judge_volts(ask)
        yield from judge_polarity(ask)
        yield from judge_safety(ask)
        yield from judge_reservoir(ask)
