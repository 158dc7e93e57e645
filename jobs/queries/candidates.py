"""What is in the drawers now for a position, each with the reasons for yes, caution and no."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F, Q

from inventory.components.notation import Spec
from inventory.components.roles import role as role_of
from inventory.components.substitution import Answer, Candidate, judge_substitute
from inventory.models import Balance, Hold, Kind, Lot, Part
from inventory.pricing import ladder, unit_price_minor
from jobs.models import Job
from jobs.queries.sheet import PositionState

# A part outside this span of the called-for value is no candidate at any role; the rules judge within it.
VALUE_SPAN = (0.4, 2.6)
MOST_SHOWN = 60
LEVELS = {"yes": 0, "warn": 1, "no": 2}


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
    deviation: float
    is_held: bool = False

    @property
    def offer(self) -> str:
        """How a form names it: lot and drawer."""
        return f"{self.lot.pk}:{self.drawer_id}"

    @property
    def rank(self) -> tuple[int, bool, float, object, int]:
        """The careful repairer's order: suitability, what is held for this place, closeness, then the oldest and cheapest lot."""
        return (LEVELS[self.answer.answer], not self.is_held, round(self.deviation, 3), self.lot.received_on, self.price_minor)


def _decimal(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(repr(value))


def spec_of(part: Part) -> Spec | None:
    value = _decimal(part.value_si)
    if value is None or part.kind not in ("resistance", "capacitance", "inductance"):
        return None
    low, high = _decimal(part.tolerance_low), _decimal(part.tolerance_high)
    return Spec(
        kind=part.kind,
        value=value,
        tolerance_percent=None if low is None or high is None else (low, high),
        volts=_decimal(part.volts),
        watts=_decimal(part.watts),
        safety_class=part.safety_class or None,
        text=part.marking,
    )


def candidate_of(part: Part) -> Candidate:
    typed = part.marking if part.kind in (Kind.VALVE, Kind.TRANSISTOR, Kind.LAMP) else ""
    return Candidate(
        spec=spec_of(part),
        kind=part.kind,
        technology=part.technology,
        polarised=part.polarised,
        valve_type=typed,
        label=part.title,
    )


def rectifier_of(job: Job) -> str:
    """The rectifier's type as the job's own list names it, for the reservoir rule; empty where none is listed."""
    found = job.positions.filter(role="rectifier_valve").exclude(called="").first()
    return found.called if found else ""


def answer_for(state: PositionState, part: Part, job: Job, rectifier: str | None = None) -> Answer:
    """Will this part do at this position? The same function answers on the sheet and when fitting."""
    if rectifier is None:
        rectifier = rectifier_of(job) if state.role == "reservoir" else ""
    return judge_substitute(
        state.role,
        state.called_spec,
        candidate_of(part),
        called_type="" if state.called_spec else state.called,
        rectifier=rectifier,
        supply=job.radio.model.supply_kind,
    )


def _kinds(role: str) -> tuple[str, ...]:
    """The kinds of part that can be meant for a role. Transistors have a kind of their own, which no rule judges by value."""
    return (Kind.TRANSISTOR, Kind.OTHER) if role == "transistor" else (role_of(role).kind,)


def candidates_for(state: PositionState, job: Job) -> list[DrawerCandidate]:
    """Everything in a drawer now that could be meant for this position, the best first. What is held for it counts as free."""
    kind = role_of(state.role).kind
    own = own_hold(state)
    there = Q(on_hand__gt=F("held")) | (Q(lot=own.lot_id, drawer=own.drawer_id) if own else Q())
    stock = Balance.objects.filter(there, lot__part__in_use=True, lot__part__kind__in=_kinds(state.role), lot__blocked_reason="")
    called = state.called_spec
    if called is not None and called.value > 0 and kind != "winding":
        value = float(called.value)
        stock = stock.filter(lot__part__value_si__range=(value * VALUE_SPAN[0], value * VALUE_SPAN[1]))
    rectifier = rectifier_of(job) if state.role == "reservoir" else ""
    steps = ladder()
    answers: dict[int, Answer] = {}
    found = []
    for balance in stock.select_related("lot__part", "lot__supplier", "drawer"):
        part = balance.lot.part
        if part.pk not in answers:
            answers[part.pk] = answer_for(state, part, job, rectifier)
        found.append(
            DrawerCandidate(
                part,
                balance.lot,
                balance.drawer.code,
                balance.drawer_id,
                balance.free + (own.count if own and _is_of(own, balance) else 0),
                unit_price_minor(part, balance.lot, steps),
                answers[part.pk],
                _deviation(part, called),
                own is not None and _is_of(own, balance),
            )
        )
    return sorted(found, key=lambda one: one.rank)[:MOST_SHOWN]


def own_hold(state: PositionState) -> Hold | None:
    """The parts that the standing decision keeps for this position."""
    held = state.decided.hold if state.decided else None
    return held if held is not None and held.is_open else None


def _is_of(held: Hold, balance: Balance) -> bool:
    return (held.lot_id, held.drawer_id) == (balance.lot_id, balance.drawer_id)


def _deviation(part: Part, called: Spec | None) -> float:
    if called is None or not called.value or part.value_si is None:
        return 0.0
    return abs(part.value_si / float(called.value) - 1)
