"""What is in the drawers now for a position, each with the reasons for yes, caution and no.

The stock may be large: cards of parts are judged once each, nearest value first, and only the lines to be shown are loaded.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from inventory.components.answers import LEVELS
from inventory.components.roles import role as role_of
from inventory.components.substitution import Answer, careful_order, rank_key
from inventory.models import Balance, Hold, Kind, Lot, Part
from inventory.pricing import Priced, PriceTerms, price_terms, priced_lot
from inventory.queries.individuals import Individual, by_lot
from inventory.queries.offers import Bounds, Card, best_lines, cards_for, lines_shown
from inventory.queries.specs import TYPED, candidate_of, spec_of
from jobs.models import Job
from jobs.queries.asked import Asked, answer_for, asked_of
from jobs.queries.sheet import PositionState

__all__ = [
    "Asked",
    "DrawerCandidate",
    "answer_for",
    "asked_of",
    "candidate_of",
    "candidates_for",
    "spec_of",
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
    """One lot in one drawer, with what can be taken and what it would cost the customer each; a valve's reading and mates."""

    part: Part
    lot: Lot
    drawer_code: str
    drawer_id: int
    free: int
    price: Priced
    answer: Answer
    is_held: bool = False
    individual: Individual | None = None

    @property
    def offer(self) -> str:
        """How a form names it: lot and drawer."""
        return f"{self.lot.pk}:{self.drawer_id}"

    @property
    def is_own(self) -> bool:
        """The customer brought it: it is not charged, and goes before the shop's own of the same suitability."""
        return self.lot.owner_id is not None

    @property
    def rank(self) -> tuple[object, ...]:
        """The careful repairer's order: suitability, what is held for this place, closeness, then the oldest and cheapest lot."""
        order = careful_order(self.answer, self.lot.received_on, self.lot.unit_cost_milli)
        return LEVELS[self.answer.answer], not self.is_held, not self.is_own, order, self.lot.pk


def _kinds(asked: Asked) -> tuple[str, ...]:
    """The kinds of part that can be meant. Transistors and diodes are one of their own; a ballast may be a valve by its type."""
    role = role_of(asked.role)
    if asked.role in ("transistor", "metal_rectifier"):
        return (Kind.TRANSISTOR, Kind.OTHER)
    if role.heater_dropper and asked.called is None:
        return (Kind.RESISTOR, Kind.VALVE, Kind.OTHER)
    return (role.kind,)


def _called_value(asked: Asked) -> float | None:
    """The value that stock is searched by; None where parts are known by type or nothing is called for."""
    called = asked.called
    if called is None or called.value <= 0 or called.kind != role_of(asked.role).kind:
        return None
    return float(called.value)


def span_of(asked: Asked) -> Bounds:
    """What could be meant for the position at all."""
    value = _called_value(asked)
    if value is None:
        return Bounds(_kinds(asked))
    return Bounds(_kinds(asked), (value * VALUE_SPAN[0], value * VALUE_SPAN[1]), cans=role_of(asked.role).polarised == "yes")


def bounds_of(asked: Asked) -> Bounds:
    """What the rules could let pass. Whatever lies outside they refuse; a test holds the two together."""
    role, called = role_of(asked.role), asked.called
    if called is None or _called_value(asked) is None:
        return Bounds(_kinds(asked), classed=bool(role.safety))
    volts = (called.volts, asked.working.volts) if role.kind == "capacitance" and not role.safety else ()
    watts = (called.watts, asked.working.watts) if role.kind == "resistance" else ()
    return Bounds(
        _kinds(asked),
        _value_window(asked),
        cans=role.polarised == "yes",
        least_volts=_largest(volts),
        least_watts=_largest(watts),
        classed=bool(role.safety),
        unpolarised=role.polarised == "no",
    )


def _largest(ratings: Iterable[Decimal | None]) -> float | None:
    return max((abs(float(one)) for one in ratings if one is not None), default=None)


def _value_window(asked: Asked) -> tuple[float, float] | None:
    """A can's sections may be wired in any order, so the window runs from the least of them to the largest."""
    called, limit = asked.called, role_of(asked.role).limit_percent
    if called is None or limit is None:
        return span_of(asked).values
    sections = [float(one) for one in called.sections or (called.value,)]
    low, high = (1 + float(percent) / 100 for percent in limit)
    return min(sections) * low, max(sections) * high


def candidates_for(state: PositionState, job: Job) -> list[DrawerCandidate]:
    """Everything in a drawer now that will do here, the best first, then the nearest few that won't.

    What is held for the position counts as free. However big the stock, there are at most eight queries besides those
    for the position's surroundings, and no more answers than MOST_JUDGED.
    """
    asked, own = asked_of(state, job), own_hold(state)
    answers = _answers(asked, state.decided.part if own and state.decided else None, job.customer_id)
    judged = sorted(answers.items(), key=_by_rank)
    good = _tiers((one for one in judged if one[1].answer != "no"), MOST_SHOWN)
    bad = _tiers((one for one in judged if one[1].answer == "no"), MOST_REFUSED)
    lines = lines_shown([*best_lines(good, MOST_SHOWN, job.customer_id), *best_lines(bad, MOST_REFUSED, job.customer_id)], own)
    prices = price_terms()
    apart = by_lot([line.lot for line in lines if line.lot.is_individual])
    offered = (_offered(line, answers[line.lot.part_id], prices, own, apart) for line in lines)
    return sorted(offered, key=lambda one: one.rank)


def _answers(asked: Asked, planned: Part | None, customer_id: int) -> dict[int, Answer]:
    """The answer of each part by its key: of what the rules may let pass, of the nearest few besides, and of the planned one."""
    near = _called_value(asked)
    most = MOST_TYPES if span_of(asked).kinds[0] in TYPED else MOST_JUDGED
    cards = cards_for(bounds_of(asked), span_of(asked), near, most, customer_id)
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


def _offered(
    line: Balance, answer: Answer, prices: PriceTerms, own: Hold | None, apart: Mapping[int, Individual]
) -> DrawerCandidate:
    is_held = own is not None and (own.lot_id, own.drawer_id) == (line.lot_id, line.drawer_id)
    return DrawerCandidate(
        line.lot.part,
        line.lot,
        line.drawer.code,
        line.drawer_id,
        line.free + (own.count if own is not None and is_held else 0),
        priced_lot(line.lot.part, line.lot, prices),
        answer,
        is_held,
        apart.get(line.lot_id),
    )


def own_hold(state: PositionState) -> Hold | None:
    """The parts that the standing decision keeps for this position."""
    held = state.decided.hold if state.decided else None
    return held if held is not None and held.is_open else None
