"""Changing the plan of copies."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.db import transaction

from shop.acts import Stale
from shop.backup import second_place
from shop.backup.places import own_place
from shop.backup.troubles import Trouble
from shop.models import BackupPlan

STALE = "The plan was changed by somebody else since you opened this. Compare, then send again."


@transaction.atomic
def change_plan(values: Mapping[str, Any], *, seen: int) -> BackupPlan:
    """`values` are the plan's fields by name. A second place that is new, or has lost its mark, is marked as such."""
    plan, _ = BackupPlan.objects.select_for_update().get_or_create(pk=1)
    if plan.version != seen:
        raise Stale(STALE)
    if chosen := values["second_place"]:
        _choose(Path(chosen))
    for name, value in values.items():
        setattr(plan, name, value)
    plan.version += 1
    plan.save()
    return plan


def _choose(place: Path) -> None:
    own = own_place()
    if place.is_absolute() and (place.resolve() == own.resolve() or own.resolve() in place.resolve().parents):
        raise Trouble("That is where copies are made already. Choose a place on another disk.", field="second_place")
    second_place.choose(place)
