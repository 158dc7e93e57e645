"""What a flat task may be asked for: once a job or by count, for the class of sets it is priced for."""

from jobs.models import FlatTask, Job, LabourEntry, PricedBy
from shop.acts import Refused

MOST_COUNTED = 999


def check_task(task: FlatTask, count: int, job: Job, corrects: LabourEntry | None = None) -> None:
    """Refuse a task that isn't for this set, or a count it can't have. A correction keeps the task it was logged with."""
    kept = corrects is not None and corrects.task_id == task.pk
    if not kept and task.set_class_id is not None and task.set_class_id != job.radio.model.set_class_id:
        raise Refused(
            f"“{task.name}” is priced for sets of the class “{task.set_class}”, and {job.radio.model} isn't one. "
            "Choose another task, or correct the class of the model.",
            field="task",
        )
    if task.priced_by == PricedBy.JOB and count != 1:
        raise Refused(f"“{task.name}” is priced once a job. Leave the count empty.", field="count")
    if count < 1:
        what = "valve" if task.priced_by == PricedBy.VALVE else "capacitor"
        raise Refused(f"The list of this set names no {what}. Type how many there are.", field="count")
    if count > MOST_COUNTED:
        raise Refused(f"At most {MOST_COUNTED} in one line.", field="count")
