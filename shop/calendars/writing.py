"""Days as iCalendar (RFC 5545), by a general library that folds and escapes; no framework, nothing of the shop."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from icalendar import Event

# RFC 5545, 3.7.3: who wrote it.
PRODUCT = "-//Radio workshop log//Promised days//EN"
ASK_AGAIN_AFTER = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class DayEvent:
    """One whole day. `uid` stays the same as long as it is the same promise; `changed_at` is aware.

    `revision` grows with every change, so that a program that kept the event takes the newer one (RFC 5545, 3.8.7.4).
    """

    uid: str
    on: date
    summary: str
    description: str
    url: str
    changed_at: datetime
    revision: int = 0


def calendar_bytes(name: str, events: Iterable[DayEvent]) -> bytes:
    """The same events give the same bytes, so that an unchanged calendar needn't be sent again."""
    # Imported where it is used: it takes long to load, and every start would wait for it.
    from icalendar import Calendar, vDuration

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # RFC 7986, 5.1 and 5.7: how it is called, and how often it is worth asking.
    calendar.add("name", _plain(name))
    calendar.add("refresh-interval", vDuration(ASK_AGAIN_AFTER), parameters={"VALUE": "DURATION"})
    for one in events:
        calendar.add_component(_event(one))
    return calendar.to_ical()


def _event(one: DayEvent) -> "Event":
    """Without an end it takes the whole of its day (RFC 5545, 3.6.1)."""
    from icalendar import Event

    changed = one.changed_at.astimezone(UTC).replace(microsecond=0)
    event = Event()
    event.add("uid", one.uid)
    # A calendar that is published, not sent: when what it says was last changed (RFC 5545, 3.8.7.2).
    event.add("dtstamp", changed)
    event.add("last-modified", changed)
    event.add("sequence", one.revision)
    event.add("dtstart", one.on)
    event.add("summary", _plain(one.summary))
    event.add("description", _plain(one.description))
    event.add("url", one.url)
    event.add("class", "PRIVATE")
    # The day is not busy because a set is promised for it.
    event.add("transp", "TRANSPARENT")
    return event


def _plain(text: str) -> str:
    """RFC 5545, 3.1: text holds no control characters but a line's end and a tab."""
    return "".join(c for c in text if c.isprintable() or c in "\n\t")
