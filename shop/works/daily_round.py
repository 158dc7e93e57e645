"""The daily round, after the daily copy: pages that sum up the house are counted, and the planner is told how much there is.

A thread of the serving process looks now and then whether it is due; of several processes one goes.
"""

import logging
from datetime import datetime

from django.utils.timezone import localtime

from shop.backup import standing
from shop.backup.restoring import shop_here
from shop.backup.running import plan_now
from shop.backup.schedule import last_hour
from shop.clock import now
from shop.long_work.now_and_then import NowAndThen
from shop.models import Tally
from shop.tallies import Counting, Question, count_anew
from shop.tallies.planner import refresh_planner
from shop.works.tallies import COUNTINGS

log = logging.getLogger("shop.daily_round")
FIRST_LOOK_SECONDS = 60.0
LOOK_EVERY_SECONDS = 120.0
# Under this name stands when somebody last went round.
ROUND = "daily round"


def go_if_due() -> None:
    if shop_here() and is_due(now()) and claim(now()):
        go_round()


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
            if _watch.is_closing:
                return
            _count(counting, question)


def _count(counting: Counting, question: Question) -> None:
    """What can't be counted keeps no other page from its figures."""
    try:
        count_anew(counting, question, now())
    except Exception:
        log.exception("%s was not counted", counting.page)


def _failed() -> None:
    log.exception("the daily round failed")


_watch = NowAndThen("daily round", go_if_due, _failed, first_seconds=FIRST_LOOK_SECONDS, every_seconds=LOOK_EVERY_SECONDS)
open_up = _watch.open_up
# What is being counted then is dropped; the pages keep what they had.
close_down = _watch.close_down
