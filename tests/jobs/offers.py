"""A draft with alternatives: a part at C2 and work in all, more work from the second up, the cabinet only in the third."""

from inventory.models import Kind
from jobs.models import Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from jobs.services.estimates import TypedLine
from shop.clock import now
from tests.builders import a_part, a_staff, plan_part

REPAIR, RECAP, CABINET = 8_000, 5_000, 12_000


def fee(text: str, minor: int, high: int | None = None) -> TypedLine:
    return TypedLine(EstimateLineKind.FEE, text, low_minor=minor, high_minor=minor if high is None else high)


def put(draft: Estimate, line: EstimateLine, tier: int) -> None:
    estimates.place(draft, {line.pk: tier})


def planned_line(draft: Estimate, designator: str) -> EstimateLine:
    return draft.lines.get(position__designator=designator, from_log=True)  # type: ignore[attr-defined, no-any-return]


def offering(job: Job, planned_in: int = 0) -> Estimate:
    """`planned_in`: the alternative that the part planned at R1 is put into; 0: nothing is planned there."""
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.add_line(draft, fee("Repair", REPAIR))
    estimates.offer(draft)
    put(draft, estimates.add_line(draft, fee("All paper capacitors", RECAP)), 2)
    put(draft, estimates.add_line(draft, fee("Cabinet", CABINET, CABINET + 3_000)), 3)
    if planned_in:
        plan_part(job, "R1", a_part("220 kΩ 1/2 W", Kind.RESISTOR))
        estimates.redraw(draft)
        put(draft, planned_line(draft, "R1"), planned_in)
    draft.refresh_from_db()
    return draft


def send(draft: Estimate) -> Estimate:
    return estimates.send(draft, person=a_staff(), at=now())


def agree(job: Job, tier: int, sent: Estimate) -> None:
    record_answer(sent, Answer(True, "in_person", "Iwona Brzask", person=a_staff(), tier=tier), at=now())
    job.refresh_from_db()
