"""Loads the invented shop: whole or not at all, in the order in which everything happened."""

import heapq
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import count
from random import Random
from typing import Protocol

from django.db import connection, transaction

from jobs.services.intake import model_named
from shop.demo.back_room import BACK_ROOM_STEPS, BackRoom
from shop.demo.doors import DOOR_STEPS, Doors
from shop.demo.models import set_facts, write_models
from shop.demo.parts import fill_drawers
from shop.demo.people import Cast, open_shop
from shop.demo.plans import PROGRESS, plans
from shop.demo.service_sheet import add_service_sheet
from shop.demo.story import Shared, Story

OPENED_DAYS_AGO = 285
STEPS_A_COUNT = 40
Tick = Callable[[str], None]


@transaction.atomic
def load(now: datetime, tick: Tick = lambda what: None) -> Cast:
    """Make the shop as it stands at `now`. In one transaction: an interrupted load leaves nothing. `tick` hears of each step."""
    opened_at = now - timedelta(days=OPENED_DAYS_AGO)
    cast = open_shop(opened_at)
    tick("people")
    write_models()
    add_service_sheet(model_named(set_facts("kestrel")), person=cast.owner, at=opened_at)
    fill_drawers(cast, Random("drawers"), opened_at, now)
    tick("drawers")
    count_rows()
    told = Shared()
    stories = (Story(plan, cast, now, told) for plan in plans())
    run_side_by_side([*stories, BackRoom(cast, opened_at, now), Doors(cast, now)], tick)
    return cast


def count_rows() -> None:
    """Let the database look how large its tables are: inside one long transaction nothing else does, and its plans go by it."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def step_count() -> int:
    """How often `load` ticks."""
    return 2 + BACK_ROOM_STEPS + DOOR_STEPS + sum(sum(plan.reaches(stage) for stage in PROGRESS) for plan in plans())


class Told(Protocol):
    """Something that goes on for months: it stops before each step and gives its time."""

    @property
    def key(self) -> str: ...

    def steps(self) -> Iterator[datetime]: ...


def run_side_by_side(stories: Sequence[Told], tick: Tick) -> None:
    """Let every job take its next step when its time has come, so that numbers and ledgers run in the order of time."""
    waiting: list[tuple[datetime, int, Iterator[datetime]]] = []
    for place, story in enumerate(stories):
        steps = story.steps()
        heapq.heappush(waiting, (next(steps), place, steps))
    for number in count(1):
        if not waiting:
            return
        _, place, steps = heapq.heappop(waiting)
        following = next(steps, None)
        tick(stories[place].key)
        if number % STEPS_A_COUNT == 0:
            count_rows()
        if following is not None:
            heapq.heappush(waiting, (following, place, steps))
