"""What is in the drawers now for a position, each with the reasons for yes, caution and no.

The stock may be large: cards of parts are judged once each, nearest value first, and only the lines to be shown are loaded.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from inventory.components.roles import role as role_of
from inventory.components.substitution import Answer, rank_key
from inventory.models import Balance, Hold, Kind, Lot, Part
from inventory.pricing import ladder, unit_price_minor
from inventory.queries.offers import Bounds, Card, best_lines, cards_for, lines_shown
from inventory.queries.specs import TYPED, candidate_of, spec_of
from jobs.models import Job
from jobs.queries.asked import Asked, Working, answer_for, asked_of, working_of
from jobs.queries.sheet import PositionState

__all__ = [
    "Asked",
    "DrawerCandidate",
    "Working",
    "answer_for",
    "asked_of",
    "candidate_of",
    "candidates_for",
    "spec_of",
    "working_of",
]

# A part outside this span of the called-for value is not even said to be unsuitable; the rules judge within it.
VALUE_SPAN = (0.4, 2.6)
MOST_SHOWN = 40
MOST_REFUSED = 12
# The nearest cards by value; where parts are known by type, every type there is.
MOST_JUDGED = 300
MOST_TYPES = 3000


@dataclass(frozen=True, slots=True)
class DrawerCandidate:
    """One lot in one drawer, with what can be taken and what it would cost the customer each."""

    part: Part
    lot: Lot
    drawer_code: str
    drawer_id: int
    free: int
    price_minor: int
    answer: Answer
    is_held: bool = False

    @property
    def offer(self) -> str:
        """How a form names it: lot and drawer."""
        return f"{self.lot.pk}:{self.drawer_id}"

    @property
    def rank(self) -> tuple[object, ...]:
        """The careful repairer's order: suitability, what is held for this place, closeness, then the oldest and cheapest lot."""
        level, *rest = rank_key(self.answer)
        return (level, not self.is_held, *rest, self.lot.received_on, self.lot.unit_cost_milli, self.lot.pk)


def _kinds(role: str) -> tuple[str, ...]:
    """The kinds of part that can be meant for a role. Transistors have a kind of their own, which no rule judges by value."""
    return (Kind.TRANSISTOR, Kind.OTHER) if role == "transistor" else (role_of(role).kind,)


def _called_value(asked: Asked) -> float | None:
    """The value that stock is searched by; None where parts are known by type or nothing is called for."""
    called = asked.called
    if called is None or called.value <= 0 or called.kind != role_of(asked.role).kind:
        return None
    return float(called.value)


def span_of(asked: Asked) -> Bounds:
    """What could be meant for the position at all."""
    value = _called_value(asked)
    values = None if value is None else (value * VALUE_SPAN[0], value * VALUE_SPAN[1])
    return Bounds(_kinds(asked.role), values)


def bounds_of(asked: Asked) -> Bounds:
    """What the rules could let pass. Whatever lies outside they refuse; a test holds the two together."""
    role, called = role_of(asked.role), asked.called
    if called is None or _called_value(asked) is None:
        return Bounds(_kinds(asked.role), classed=bool(role.safety))
    rated = not role.safety and role.kind == "capacitance"
    volts = [one for one in (called.volts if rated else None, asked.working.volts) if one is not None]
    watts = [one for one in (called.watts, asked.working.watts) if one is not None]
    return Bounds(
        _kinds(asked.role),
        _value_window(asked),
        least_volts=float(max(volts)) if volts and role.kind == "capacitance" else None,
        least_watts=float(max(watts)) if watts and role.kind == "resistance" else None,
        classed=bool(role.safety),
        unpolarised=role.polarised == "no",
    )


def _value_window(asked: Asked) -> tuple[float, float] | None:
    """Any section of a can may be met by the first of another, so the window runs from the least to the largest."""
    called, limit = asked.called, role_of(asked.role).limit_percent
    if called is None:
        return None
    if limit is None:
        return span_of(asked).values
    sections = called.sections or (called.value,)
    low, high = (1 + float(percent) / 100 for percent in limit)
    return float(min(sections)) * low, float(max(sections)) * high


def candidates_for(state: PositionState, job: Job) -> list[DrawerCandidate]:
    """Everything in a drawer now that will do here, the best first, then the nearest few that won't.

    What is held for the position counts as free. The number of queries and of answers is the same for any stock.
    """
    asked, own = asked_of(state, job), own_hold(state)
    answers = _answers(asked, state.decided.part if own and state.decided else None)
    judged = sorted(answers.items(), key=_by_rank)
    good = _tiers((one for one in judged if one[1].answer != "no"), MOST_SHOWN)
    bad = _tiers((one for one in judged if one[1].answer == "no"), MOST_REFUSED)
    lines = lines_shown([*best_lines(good, MOST_SHOWN), *best_lines(bad, MOST_REFUSED)], own)
    steps = ladder()
    return sorted((_offered(line, answers[line.lot.part_id], steps, own) for line in lines), key=lambda one: one.rank)


def _answers(asked: Asked, planned: Part | None) -> dict[int, Answer]:
    """The answer of each part by its key: of what the rules may let pass, of the nearest few besides, and of the planned one."""
    near = _called_value(asked)
    most = MOST_TYPES if span_of(asked).kinds[0] in TYPED else MOST_JUDGED
    cards = cards_for(bounds_of(asked), span_of(asked), near, most)
    count = sum(not card.left_out for card in cards)
    answers = _judge(asked, cards[:count], nearest_first=near is not None) | _judge(asked, cards[count : count + MOST_REFUSED])
    if planned is not None and planned.pk not in answers:
        answers[planned.pk] = asked.answer(planned)
    return answers


def _judge(asked: Asked, cards: Sequence[Card], *, nearest_first: bool = False) -> dict[int, Answer]:
    """Judge cards, those of one spec once. Of cards that come nearest first, no more than fill a page with parts that will do."""
    by_spec: dict[tuple[object, ...], Answer] = {}
    answers: dict[int, Answer] = {}
    will_do = 0
    for _, alike in groupby(cards, key=lambda card: card.value_si):
        if nearest_first and will_do >= MOST_SHOWN:
            break
        for card in alike:
            key = card.spec_key
            if key not in by_spec:
                by_spec[key] = asked.answer(card)
            answers[card.pk] = by_spec[key]
            will_do += by_spec[key].answer == "yes"
    return answers


def _tiers(judged: Iterable[tuple[int, Answer]], most: int) -> list[list[int]]:
    """Parts that rank alike together, the best first; no more of them than fill a page, as each has a line at least."""
    tiers: list[list[int]] = []
    for _, alike in groupby(judged, key=_by_rank):
        if sum(map(len, tiers)) >= most:
            break
        tiers.append([pk for pk, _ in alike])
    return tiers


def _by_rank(judged: tuple[int, Answer]) -> tuple[object, ...]:
    return rank_key(judged[1])


def _offered(line: Balance, answer: Answer, steps: Sequence[tuple[int, int]], own: Hold | None) -> DrawerCandidate:
    is_held = own is not None and (own.lot_id, own.drawer_id) == (line.lot_id, line.drawer_id)
    return DrawerCandidate(
        line.lot.part,
        line.lot,
        line.drawer.code,
        line.drawer_id,
        line.free + (own.count if own is not None and is_held else 0),
        unit_price_minor(line.lot.part, line.lot, steps),
        answer,
        is_held,
    )


def own_hold(state: PositionState) -> Hold | None:
    """The parts that the standing decision keeps for this position."""
    held = state.decided.hold if state.decided else None
    return held if held is not None and held.is_open else None
