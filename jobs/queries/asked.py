"""What is asked of a part at one position: the called-for value and everything around it that the rules look at."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.components.answers import Answer, Candidate, Reason
from inventory.components.notation import Spec
from inventory.components.roles import ROLES
from inventory.components.roles import role as role_of
from inventory.components.substitution import SubstitutionError, judge_substitute
from inventory.models import Part
from inventory.queries.specs import PartLike, candidate_of
from jobs.models import Job, RadioModel, RadioSet
from jobs.models.sets import SupplyKind
from jobs.models.supply import SupplyFigures
from jobs.queries.sheet import PositionState
from jobs.queries.voltages import Working, working
from shop.prepared import by_key

UNKNOWN = Working()
VALVE_ROLES = tuple(code for code, role in ROLES.items() if role.kind == "valve")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What stands around the position in its set: the line the set is made for, its rectifier, its valves in circuit order."""

    supply: str = ""
    line_volts: Decimal | None = None
    line_hertz: Decimal | None = None
    rectifier: str = ""
    chain: tuple[str, ...] = ()


ANYWHERE = Surroundings()


@dataclass(frozen=True, slots=True)
class Asked:
    """One position with everything that its rules look at; parts are judged against it one by one."""

    role: str
    called: Spec | None
    called_type: str = ""
    around: Surroundings = ANYWHERE
    working: Working = UNKNOWN

    def answer(self, part: PartLike) -> Answer:
        return self.judge(candidate_of(part))

    def judge(self, candidate: Candidate) -> Answer:
        try:
            return judge_substitute(
                self.role,
                self.called,
                candidate,
                called_type=self.called_type,
                rectifier=self.around.rectifier,
                volts_working=self.working.volts,
                watts_dissipated=self.working.watts,
                supply=self.around.supply,
                line_volts=self.around.line_volts,
                line_hertz=self.around.line_hertz,
                chain=self.around.chain,
            )
        except SubstitutionError as error:
            return Answer("no", (Reason("out_of_range", "no", error.message, "common practice, no source"),))


def asked_of(state: PositionState, job: Job) -> Asked:
    called = state.called_spec
    return Asked(state.role, called, "" if called else state.called, surroundings_of(state.role, job), working(state))


_RADIO = by_key(RadioSet)
_MODEL = by_key(RadioModel)


def radio_now(job: Job) -> RadioSet:
    """The job's set with its model."""
    radio = _RADIO.get(job.radio_id)
    radio.model = _MODEL.get(radio.model_id)
    return radio


def surroundings_of(role_code: str, job: Job) -> Surroundings:
    """Looked up only as far as the role's rules ask for it."""
    if not Job.radio.is_cached(job):
        job.radio = radio_now(job)
    role, supply = role_of(role_code), job.radio.model.supply_kind
    heated = supply == SupplyKind.TRANSFORMERLESS and (role.kind == "valve" or role.heater_dropper)
    on_the_line = bool(role.safety) or role.rectifier_limited or heated or role_code == "metal_rectifier"
    volts, hertz = line_of(job) if on_the_line and supply == SupplyKind.TRANSFORMERLESS else (None, None)
    valves = _valves_of(job) if heated or role.rectifier_limited else []
    rectifier = next((called for code, called in valves if code == "rectifier_valve"), "") if role.rectifier_limited else ""
    return Surroundings(supply, volts, hertz, rectifier, tuple(called for _, called in valves) if heated else ())


def line_of(job: Job) -> tuple[Decimal | None, Decimal | None]:
    """Volts and hertz that a transformerless set is made for, as its supply starts at the line itself; None where not entered."""
    figures = SupplyFigures.objects.filter(model=job.radio.model_id).values_list("volts_rms", "frequency_hz").first()
    return (Decimal(repr(figures[0])), Decimal(repr(figures[1]))) if figures else (None, None)


def _valves_of(job: Job) -> list[tuple[str, str]]:
    """(role, type) of every valve that the job's own list names, in circuit order."""
    valves = job.positions.filter(role__in=VALVE_ROLES).exclude(called="")
    return list(valves.order_by("order", "pk").values_list("role", "called"))


def answer_for(state: PositionState, part: Part, job: Job) -> Answer:
    """Will this part do at this position? The same function answers on the sheet and when fitting."""
    return asked_of(state, job).answer(part)
