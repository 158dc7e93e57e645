"""The daily round, after the daily copy: pages that sum up the house are counted, and the planner is told how much there is.

A thread of the serving process looks now and then whether it is due; of several processes one goes. It is closed until somebody
serves, so that a command or a test never goes round by accident.
"""

import logging
import threading
from dataclasses import dataclass, field
from datetime import datetime

from django.db import connections
from django.utils.timezone import localtime

from shop.audit import acting
from shop.backup import standing
from shop.backup.restoring import shop_here
from shop.backup.running import plan_now
from shop.backup.schedule import last_hour
from shop.clock import now
from shop.models import Tally
from shop.tallies import Counting, Question, count_anew
from shop.tallies.planner import refresh_planner
from shop.works.tallies import COUNTINGS

log = logging.getLogger("shop.daily_round")
FIRST_LOOK_SECONDS = 60.0
LOOK_EVERY_SECONDS = 120.0
CLOSING_SECONDS = 5.0
# Under this name stands when somebody last went round.
ROUND = "daily round"


@dataclass(slots=True)
class _Watch:
    thread: threading.Thread | None = None
    closing: threading.Event = field(default_factory=threading.Event)


_watch = _Watch()


def open_up() -> None:
    """From now on this process sees to the daily round."""
    if _watch.thread is None:
        _watch.closing.clear()
        _watch.thread = threading.Thread(target=_look, name="daily round", daemon=True)
        _watch.thread.start()


def close_down() -> None:
    """What is being counted then is dropped; the pages keep what they had."""
    _watch.closing.set()
    if _watch.thread is not None:
        _watch.thread.join(CLOSING_SECONDS)
        _watch.thread = None


def _look() -> None:
    wait = FIRST_LOOK_SECONDS
    while not _watch.closing.wait(wait):
        wait = LOOK_EVERY_SECONDS
        try:
            with acting(None, "the daily round"):
                if shop_here() and is_due(now()) and claim(now()):
                    go_round()
        except Exception:
            # The thread must outlive whatever goes wrong once: tomorrow's round depends on it.
            log.exception("the daily round failed")
        finally:
            connections.close_all()


def is_due(at: datetime) -> bool:
    """Once a day from the hour of the daily copy on, and not while that is still to come."""
    return not Tally.objects.filter(page=ROUND, counted_at__gte=due_since(at)).exists() and not standing.is_due(at)


def due_since(at: datetime) -> datetime:
    return last_hour(plan_now().hour, localtime(at))


def claim(at: datetime) -> bool:
    """Whether this process goes round: of several that find it due, the database lets one write so."""
    if Tally.objects.filter(page=ROUND, counted_at__lt=due_since(at)).update(counted_at=at):
        return True
    if Tally.objects.filter(page=ROUND).exists():
        return False
    Tally.objects.create(page=ROUND, counted_at=at)
    return True


def go_round() -> None:
    refresh_planner()
    for counting in COUNTINGS.values():
        if counting.is_small():
            continue
        for question in counting.usual():
            if _watch.closing.is_set():
                return
            _count(counting, question)


def _count(counting: Counting, question: Question) -> None:
    """What can't be counted keeps no other page from its figures."""
    try:
        count_anew(counting, question, now())
    except Exception:
        log.exception("%s was not counted", counting.page)
