"""Who came in over the last two weeks, and a bad morning of theirs: what the pages about the door show."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random

from shop.calendars.links import make_link
from shop.demo.people import Cast
from shop.models import AccessKind, Staff
from shop.sign_in.events import note, note_from_outside

DOOR_STEPS = 14
BAD_MORNING = 6  # days ago
MOST_TRIES = 10
# Of a range that is kept for examples (RFC 5737).
COUNTER, BENCH, TABLET, STRANGER = "192.0.2.10", "192.0.2.11", "192.0.2.23", "192.0.2.77"


class Doors:
    """Told day by day, as the jobs are, so that the ledger runs in the order of time."""

    key = "doors"

    def __init__(self, cast: Cast, now: datetime) -> None:
        self.cast, self.now = cast, now
        self.rng = Random(self.key)

    def steps(self) -> Iterator[datetime]:
        for days in range(DOOR_STEPS, 0, -1):
            morning = (self.now - timedelta(days=days)).replace(hour=7, minute=30, second=0, microsecond=0)
            yield morning
            if morning.weekday() < 5:
                self._a_day(morning, days)

    def _a_day(self, morning: datetime, days: int) -> None:
        at = morning
        if days in (BAD_MORNING, BAD_MORNING + 2):  # one of the two is no Saturday and no Sunday
            at = self._forgets(self.cast.counter, morning)
        for person, address in ((self.cast.bench, BENCH), (self.cast.counter, COUNTER), (self.cast.second, TABLET)):
            at += timedelta(minutes=self.rng.randrange(1, 9))
            note(AccessKind.SIGNED_IN, at=at, person=person, address=address)
            if person == self.cast.bench and days == DOOR_STEPS - 4:
                make_link("Telephone by the long bench", person=person, at=at + timedelta(seconds=30))
        if self.rng.random() < 0.3:
            note_from_outside(AccessKind.FAILED, at=at + timedelta(hours=1), address=STRANGER, note="no such name")
        note(AccessKind.IDLE, at=min(morning + timedelta(hours=21), self.now), person=self.cast.second, address=TABLET)

    def _forgets(self, person: Staff, morning: datetime) -> datetime:
        """Too many wrong passwords, and the owner opens the door again."""
        at = morning
        for _ in range(MOST_TRIES):
            at += timedelta(seconds=self.rng.randrange(6, 30))
            note(AccessKind.FAILED, at=at, person=person, address=COUNTER)
        note(AccessKind.SHUT_OUT, at=at, person=person, address=COUNTER)
        at += timedelta(minutes=4)
        note(AccessKind.SIGNED_IN, at=at, person=self.cast.owner, address=TABLET)
        note(AccessKind.LET_IN, at=at + timedelta(seconds=50), person=person, address=TABLET, note=f"by {self.cast.owner}")
        return at + timedelta(minutes=1)
