"""A position's value made up from two parts: what the drawers allow, judged as one part by the position's own rules."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.components.answers import Reason, number_of
from inventory.components.combining import CombiningError, Made, Needed, made_of, make_up
from inventory.components.joining import How
from inventory.components.notation import Spec
from inventory.components.roles import role as role_of
from inventory.components.safety_classes import known_classes
from inventory.components.substitution import Answer, Candidate, rank_key
from inventory.models import Part, Technology
from inventory.pricing import price_terms
from inventory.queries.making_up import Piece, lying, pieces_of, stock_value, stock_values
from jobs.models import Job
from jobs.queries.asked import Asked, asked_of
from jobs.queries.sheet import PositionState
from shop.acts import Refused

MADE_UP = ("resistance", "capacitance")


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make the value: `pieces` in the order of `made.parts`, `answer` on the whole."""

    made: Made
    answer: Answer
    pieces: tuple[Piece, ...]

    @property
    def name(self) -> str:
        """How a form names it: `series 7:1,9:1`, lot and drawer of both."""
        offers = [piece.offer for piece in self.pieces for _ in range(piece.count)]
        return f"{self.made.how} {','.join(offers)}"

    @property
    def cautions(self) -> list[str]:
        return [reason.message for reason in self.answer.reasons if reason.level == "warn" and reason.code != "balancing"]


@dataclass(frozen=True, slots=True)
class Ways:
    """`refusal` says why nothing is made up here, where that is so."""

    single: tuple[Way, ...] = ()
    series: tuple[Way, ...] = ()
    parallel: tuple[Way, ...] = ()
    refusal: str = ""


def needed_of(state: PositionState, asked: Asked) -> Needed:
    """What the position needs. Refused where there is nothing to make, or where two parts must not stand in for one."""
    role, called = role_of(asked.role), asked.called
    place = state.position.designator
    if role.kind not in MADE_UP:
        raise Refused(f"Only resistors and capacitors are made up from two parts; {place} takes neither.")
    if called is None or called.value <= 0 or called.kind != role.kind:
        raise Refused(f"What {place} is called for can't be read as a value. Amend the called-for entry first.")
    if len(called.sections) > 1:
        raise Refused(f"{place} calls for a can of {len(called.sections)} sections. Make up each section by itself.")
    is_capacitor = role.kind == "capacitance"
    return Needed(
        role.kind,
        called.value,
        called.tolerance_percent,
        volts=called.volts if is_capacitor else None,
        watts=None if is_capacitor else called.watts,
        volts_working=asked.working.volts or None if is_capacitor else None,
        watts_dissipated=asked.working.watts or None,
        band_percent=role.limit_percent,
        safety="" if role.touchable else role.safety,  # there two Y class parts in series may stand in for a Y1
        polarised=role.polarised == "yes"
        or (role.polarised == "large" and called.value >= number_of("polarity", "large_farads")),
    )


def ways_for(state: PositionState, job: Job) -> Ways:
    """The best few ways out of real stock that the position's rules don't refuse."""
    asked, role = asked_of(state, job), role_of(state.role)
    try:
        needed = needed_of(state, asked)
        stock = () if needed.safety else stock_values(needed.kind, without=role.refused_materials, classed=bool(role.safety))
        making = make_up(needed, stock)
    except (Refused, CombiningError) as refused:
        return Ways(refusal=refused.message)
    lines, prices = lying(making.every), price_terms()
    ways = [
        Way(made, _answer(asked, made, [piece.part for piece in pieces]), pieces)
        for made in making.every
        if (pieces := pieces_of(made, lines, prices))
    ]
    good = sorted((way for way in ways if way.answer.answer != "no"), key=lambda way: rank_key(way.answer))
    single, series, parallel = (tuple(way for way in good if way.made.how == how) for how in ("single", "series", "parallel"))
    return Ways(single, series, parallel, making.refusal)


def answer_for_made(state: PositionState, job: Job, how: How, parts: Sequence[Part]) -> tuple[Made, Answer]:
    """These very parts joined that way at this position; Refused where joining is not for this position at all."""
    asked = asked_of(state, job)
    needed = needed_of(state, asked)
    if needed.safety:
        raise Refused(make_up(needed, ()).refusal)
    values = [stock_value(part) for part in parts]
    if not all(one.is_sound for one in values):
        raise Refused("One of these parts has no value on its card. Enter it first.")
    try:
        made = made_of(needed, how, values)
    except CombiningError as error:
        raise Refused(error.message, code=error.code) from error
    if made.mixes_polarity:
        raise Refused("An electrolytic and another capacitor are not put in series. Choose two of one sort.")
    return made, _answer(asked, made, parts)


def _answer(asked: Asked, made: Made, parts: Sequence[Part]) -> Answer:
    kind = role_of(asked.role).kind
    makes = {part.technology for part in parts}
    polarised = any(part.polarised for part in parts)
    technology = makes.pop() if len(makes) == 1 else Technology.ELECTROLYTIC if polarised else Technology.UNKNOWN
    rated = made.tolerance_percent, made.volts_allowed, made.watts_allowed
    spec = Spec(kind, made.value, *rated, _class_of(asked, made, parts), text=made.text)
    answer = asked.judge(Candidate(spec, kind, technology, polarised, label=made.text))
    return _with_care(answer) if made.needs_balancing else answer


def _class_of(asked: Asked, made: Made, parts: Sequence[Part]) -> str | None:
    """A part's own class; joined parts have none, but that two Y class ones in series count as Y1 where a person can touch."""
    if made.how == "single":
        return parts[0].safety_class or None
    of_y = all(any(one.code[0] == "Y" for one in known_classes(part.safety_class)) for part in parts)
    return "Y1" if of_y and made.how == "series" and role_of(asked.role).touchable else None


def _with_care(answer: Answer) -> Answer:
    text = "Two electrolytics in series need balancing resistors."
    reason = Reason("balancing", "warn", text, "textbook: electrolytics in series (from memory)")
    return replace(answer, answer="warn" if answer.answer == "yes" else answer.answer, reasons=(reason, *answer.reasons))
