"""Loads the invented shop: whole or not at all, in the order in which everything happened."""

import heapq
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from random import Random

from django.db import transaction

from shop.demo.models import write_models
from shop.demo.parts import fill_drawers
from shop.demo.people import Cast, open_shop
from shop.demo.plans import PROGRESS, plans
from shop.demo.story import Story, Told

OPENED_DAYS_AGO = 285
Tick = Callable[[str], None]


@transaction.atomic
def load(now: datetime, tick: Tick = lambda what: None) -> Cast:
    """Make the shop as it stands at `now`. In one transaction: an interrupted load leaves nothing. `tick` hears of each step."""
    opened_at = now - timedelta(days=OPENED_DAYS_AGO)
    cast = open_shop(opened_at)
    tick("people")
    write_models()
    fill_drawers(cast, Random("drawers"), opened_at, now)
    tick("drawers")
    told = Told()
    run_side_by_side([Story(plan, cast, now, told) for plan in plans()], tick)
    return cast


def step_count() -> int:
    """How often `load` ticks."""
    return 2 + sum(sum(plan.reaches(stage) for stage in PROGRESS) for plan in plans())


def run_side_by_side(stories: list[Story], tick: Tick) -> None:
    """Let every job take its next step when its time has come, so that numbers and ledgers run in the order of time."""
    waiting: list[tuple[datetime, int, Iterator[datetime]]] = []
    for place, story in enumerate(stories):
        steps = story.steps()
        heapq.heappush(waiting, (next(steps), place, steps))
    while waiting:
        _, place, steps = heapq.heappop(waiting)
        following = next(steps, None)
        tick(stories[place].plan.key)
        if following is not None:
            heapq.heappush(waiting, (following, place, steps))
