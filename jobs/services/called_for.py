"""The called-for list's only writer. It is kept with the model; a job gets a copy when it begins."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from inventory.components.roles import ROLES
from jobs.models import CalledFor, Job, Position, RadioModel
from jobs.services.stages import log_job
from shop.acts import Refused, Stale


@dataclass(frozen=True, slots=True)
class CalledRow:
    """One position as the service data names it."""

    designator: str
    role: str
    called: str
    note: str = ""


def check_rows(rows: Sequence[CalledRow]) -> None:
    seen: set[str] = set()
    for number, row in enumerate(rows, 1):
        name = row.designator.strip().upper()
        if not name:
            raise Refused(f"Line {number} has no designator.", field="table")
        if name in seen:
            raise Refused(f"{name} is named twice; a designator stands for one position.", field="table")
        if row.role not in ROLES:
            raise Refused(f"Line {number}: the role “{row.role}” isn't known.", field="table")
        seen.add(name)


@transaction.atomic
def save_called_for(model: RadioModel, rows: Sequence[CalledRow], *, seen: int) -> None:
    """Replace a model's list by these rows, in this order. Jobs that run keep the copy they began with."""
    check_rows(rows)
    current = RadioModel.objects.select_for_update().get(pk=model.pk)
    if current.version != seen:
        raise Stale(
            "The list was changed by somebody else since you opened it. Your rows are still here: compare, then save again."
        )
    current.called_for.all().delete()
    CalledFor.objects.bulk_create(
        [
            CalledFor(
                model=current,
                designator=row.designator.strip().upper()[:16],
                role=row.role,
                called=row.called.strip()[:80],
                note=row.note.strip()[:160],
                order=order,
            )
            for order, row in enumerate(rows, 1)
        ]
    )
    current.version += 1
    current.save()


@transaction.atomic
def copy_to_job(job: Job) -> int:
    """Add the model's positions that the job doesn't have yet; gives how many were added. Nothing that stands is changed."""
    there = set(job.positions.values_list("designator", flat=True))
    wanted = [one for one in job.radio.model.called_for.all() if one.designator not in there]
    Position.objects.bulk_create(
        [
            Position(job=job, designator=one.designator, role=one.role, called=one.called, note=one.note, order=one.order)
            for one in wanted
        ]
    )
    return len(wanted)


@transaction.atomic
def take_over(job: Job) -> int:
    """Copy to a running job what its model's list gained since; gives how many positions that were."""
    current = log_job(job)
    count = copy_to_job(current)
    if not count:
        raise Refused(f"Job {current.number} has every position of its model already.")
    current.version += 1
    current.save(update_fields=["version"])
    return count


@transaction.atomic
def add_position(job: Job, row: CalledRow, *, keep_with_model: bool = True) -> Position:
    """A position found at the bench that the list lacks; kept with the model too, so that the next set has it."""
    current = log_job(job)
    check_rows([row])
    name = row.designator.strip().upper()[:16]
    if current.positions.filter(designator=name).exists():
        raise Refused(f"{name} is on the sheet already.", field="designator")
    last = current.positions.order_by("-order").first()
    order = last.order + 1 if last else 1
    if keep_with_model:
        CalledFor.objects.get_or_create(
            model=current.radio.model,
            designator=name,
            defaults={"role": row.role, "called": row.called.strip()[:80], "order": order, "note": row.note[:160]},
        )
    current.version += 1
    current.save(update_fields=["version"])
    return Position.objects.create(
        job=current, designator=name, role=row.role, called=row.called.strip()[:80], note=row.note[:160], order=order
    )
