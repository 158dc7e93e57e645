"""Counting the whole house for a page: every page that is counted so, and the long work of doing it."""

import json

from inventory.queries.house.dead import DEAD_STOCK
from inventory.queries.house.fullness import FULLNESS
from inventory.queries.house.turns import STOCK_TURNS
from inventory.queries.house.unbilled import UNBILLED
from inventory.queries.house.value import STOCK_VALUE
from shop.clock import now
from shop.long_work import Made, Progress
from shop.models import LongWork
from shop.personal.counted import KEEPING_TIME
from shop.tallies import Counting, count_anew
from shop.views.pictured import PICTURES

COUNTINGS: dict[str, Counting] = {
    one.page: one for one in (STOCK_VALUE, STOCK_TURNS, DEAD_STOCK, FULLNESS, UNBILLED, KEEPING_TIME, PICTURES)
}


def count_house(work: LongWork, progress: Progress) -> Made:
    progress.step(0, 1)
    question = json.loads(work.asked["question"] or "{}")
    count_anew(COUNTINGS[work.asked["page"]], question, now())
    progress.step(1, 1)
    return Made("Counted. The page shows it now.")
