"""How the shop stands with its copies, as pages tell it. Asks one row of the database; the rest is read from the copies."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.utils.timezone import localtime

from shop.backup import schedule
from shop.backup.copies import Copy, newest_in
from shop.backup.places import own_place
from shop.backup.running import Told, last_trouble, plan_now
from shop.models import BackupPlan

# Of copies that were found bad or never proven: more than these are not read through for the newest good one on every page.
MOST_LOOKED_AT = 50
# A copy from a time still to come tells that the computer's clock was ahead. It is a copy, but not of lately: one waits for none.
CLOCKS_APART = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Standing:
    """`newest` is the last good copy. `trouble` is what went wrong since."""

    plan: BackupPlan
    newest: Copy | None
    trouble: Told | None
    is_late: bool
    at: datetime

    @property
    def sentence(self) -> str:
        """`The last good backup is 3 hours old.`"""
        if self.newest is None:
            return "There is no good backup yet."
        return f"The last good backup is {age(self.at - self.newest.made_at)} old."


def newest_good(place: Path, at: datetime) -> Copy | None:
    """The newest that was proven, of those made up to `at`."""
    for looked_at, copy in enumerate(newest_in(place)):
        if copy.is_good and copy.made_at <= at + CLOCKS_APART:
            return copy
        if looked_at >= MOST_LOOKED_AT:
            break
    return None


def standing(at: datetime) -> Standing:
    plan, newest = plan_now(), newest_good(own_place(), at)
    made_at = newest.made_at if newest else None
    return Standing(plan, newest, last_trouble(), schedule.is_late(plan.late_hours, at, made_at), at)


def is_due(at: datetime) -> bool:
    plan, newest, trouble = plan_now(), newest_good(own_place(), at), last_trouble()
    made_at = localtime(newest.made_at) if newest else None
    return schedule.is_due(plan.hour, localtime(at), made_at, localtime(trouble.at) if trouble else None)


def age(time: timedelta) -> str:
    """`less than an hour`, `5 hours`, `3 days`"""
    hours = int(time.total_seconds() // 3600)
    if hours < 1:
        return "less than an hour"
    if hours < 48:
        return "1 hour" if hours == 1 else f"{hours} hours"
    return f"{hours // 24} days"
