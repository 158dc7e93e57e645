"""What of a set is counted for a price: its valves, its capacitors. And which flat tasks are offered for it."""

from collections import Counter

from django.db.models import F, Q, QuerySet

from inventory.components.roles import role as role_of
from jobs.models import FlatTask, Job, PricedBy

# Kind of role in roles.toml to the way a task is priced.
COUNTED_KINDS = {"valve": PricedBy.VALVE, "capacitance": PricedBy.CAPACITOR}


def counts_of(job: Job) -> dict[str, int]:
    """How many valves and capacitors the set has: by its own positions, or by its model's list while it has none."""
    roles = list(job.positions.values_list("role", flat=True))  # type: ignore[attr-defined]
    roles = roles or list(job.radio.model.called_for.values_list("role", flat=True))
    kinds = Counter(role_of(code).kind for code in roles)
    return {str(way): kinds[kind] for kind, way in COUNTED_KINDS.items()}


def count_for(job: Job, task: FlatTask) -> int:
    """How often a task's price is asked for this set; 0 where its list names no such part."""
    return 1 if task.priced_by == PricedBy.JOB else counts_of(job)[task.priced_by]


def tasks_for(job: Job, also: object = None) -> "QuerySet[FlatTask]":
    """The tasks offered for this set: those of its class first, none of another class. `also` is one that stands already."""
    own = job.radio.model.set_class_id
    offered = Q(in_use=True) & (Q(set_class=None) | Q(set_class=own))
    if also:
        offered |= Q(pk=also)
    return FlatTask.objects.filter(offered).order_by(F("set_class").asc(nulls_last=True), "name")
