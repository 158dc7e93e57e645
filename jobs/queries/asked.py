"""What is asked of a part at one position: the called-for value and everything around it that the rules look at."""

from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from inventory.components.notation import Spec
from inventory.components.substitution import Answer, Candidate, judge_substitute
from inventory.models import Part
from inventory.queries.specs import PartLike, candidate_of
from jobs.models import Job
from jobs.queries.sheet import PositionState


class Working(NamedTuple):
    """What the position bears in this set, where readings tell it."""

    volts: Decimal | None = None
    watts: Decimal | None = None


UNKNOWN = Working()


def working_of(state: PositionState) -> Working:
    return UNKNOWN


@dataclass(frozen=True, slots=True)
class Asked:
    """One position with everything around it that its rules look at; parts are judged against it one by one."""

    role: str
    called: Spec | None
    called_type: str = ""
    rectifier: str = ""
    supply: str = ""
    working: Working = UNKNOWN

    def answer(self, part: PartLike) -> Answer:
        return self.judge(candidate_of(part))

    def judge(self, candidate: Candidate) -> Answer:
        return judge_substitute(
            self.role,
            self.called,
            candidate,
            called_type=self.called_type,
            rectifier=self.rectifier,
            volts_working=self.working.volts,
            watts_dissipated=self.working.watts,
            supply=self.supply,
        )


def rectifier_of(job: Job) -> str:
    """The rectifier's type as the job's own list names it, for the reservoir rule; empty where none is listed."""
    found = job.positions.filter(role="rectifier_valve").exclude(called="").first()
    return found.called if found else ""


def asked_of(state: PositionState, job: Job) -> Asked:
    return Asked(
        state.role,
        state.called_spec,
        "" if state.called_spec else state.called,
        rectifier_of(job) if state.role == "reservoir" else "",
        job.radio.model.supply_kind,
        working_of(state),
    )


def answer_for(state: PositionState, part: Part, job: Job) -> Answer:
    """Will this part do at this position? The same function answers on the sheet and when fitting."""
    return asked_of(state, job).answer(part)
