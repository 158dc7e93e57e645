"""When the next daily copy is due, and whether the last good one is too old: pure, in the shop's time."""

from datetime import datetime, timedelta

# After a copy that didn't work: what is wrong, such as a full disk, seldom ends by itself within minutes.
TRY_AGAIN_AFTER = timedelta(hours=1)


def last_hour(hour: int, at: datetime) -> datetime:
    """The newest moment, not after `at`, at which a daily copy was due. `at` in the shop's time."""
    today = at.replace(hour=hour, minute=0, second=0, microsecond=0)
    return today if today <= at else (today - timedelta(days=1)).replace(hour=hour)


def is_due(hour: int, at: datetime, last_good_at: datetime | None, last_trouble_at: datetime | None) -> bool:
    """A machine that was off at that hour catches up as soon as it serves."""
    if last_trouble_at and timedelta(0) <= at - last_trouble_at < TRY_AGAIN_AFTER:
        return False
    return last_good_at is None or last_good_at < last_hour(hour, at)


def is_late(late_hours: int, at: datetime, last_good_at: datetime | None) -> bool:
    return last_good_at is None or at - last_good_at > timedelta(hours=late_hours)
