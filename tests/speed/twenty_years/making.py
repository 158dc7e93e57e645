"""Puts a shop of twenty years together."""

from collections.abc import Callable
from datetime import datetime
from random import Random

from django.utils import timezone

from billing.models import Invoice
from inventory.models import Lot, Movement, Part
from inventory.services.card_sums import sum_all
from jobs.models import Job, LogEntry
from shop.models import Staff
from tests.speed.twenty_years import cards, orders, stock
from tests.speed.twenty_years.bulk import Store, look_at_tables, quick_loading
from tests.speed.twenty_years.days import intake_days, number_of
from tests.speed.twenty_years.models_and_sets import Sets, write_models
from tests.speed.twenty_years.patterns import Pattern, read_pattern
from tests.speed.twenty_years.people import write_customers
from tests.speed.twenty_years.sizes import OPEN_JOBS, SUPPLIERS, YEARS, Sizes
from tests.speed.twenty_years.stays import A_DAY, Numbers, number_stays, plan_stays
from tests.speed.twenty_years.telling import tell

Say = Callable[[str], None]


def patterns_there() -> list[Pattern]:
    """Jobs that can be told again: of no claim, with no photos, their parts out of lots of the shop's."""
    told = Job.objects.filter(warranty_of=None, claims=None, photos=None, timers=None)
    own = LogEntry.objects.filter(lot__owner__isnull=False).values("job")
    return [read_pattern(one) for one in told.exclude(pk__in=own).select_related("radio").order_by("pk")]


def make(sizes: Sizes, now: datetime, *, seed: int = 20, say: Say = lambda text: None) -> Store:
    """Around the jobs that the shop has already; nothing is changed of them."""
    with quick_loading():
        store = _fill(sizes, now, seed, say)
    say("counting rows for the database's plans")
    look_at_tables()
    return store


def _fill(sizes: Sizes, now: datetime, seed: int, say: Say) -> Store:
    store, rng, today = Store(), Random(seed), timezone.localdate(now)
    last = number_of(today) * A_DAY
    first = last - 365 * YEARS * A_DAY
    patterns, numbers = patterns_there(), Numbers()
    still_open = Job.objects.open().count()
    there = Job.objects.count()
    stays = plan_stays(patterns, sizes.jobs - there, max(OPEN_JOBS - still_open, 0), sizes.sisters, today, seed)
    say(f"{len(patterns)} patterns, {len(stays)} jobs to tell")
    bills = number_stays(stays, numbers, store.keys(Invoice, 0).start)
    store.keys(Invoice, bills)

    new_people = max(sizes.customers - 26, 1)
    import numpy as np

    since = sorted([stays[0].begins, *intake_days(new_people - 1, today, np.random.default_rng(seed)).tolist()])
    customers = write_customers(store, since, rng)
    models = write_models(store, sizes.models_of_each, sorted({one.model for one in patterns}))
    drawers, suppliers = cards.write_drawers(store, sizes.drawers), cards.write_suppliers(store, SUPPLIERS)
    lot_parts = dict(Lot.objects.filter(pk__in={lot for one in patterns for lot in one.lots}).values_list("pk", "part_id"))
    sisters = cards.Sisters(store, sizes.sisters, drawers, set(lot_parts.values()), rng)
    parts = cards.write_parts(store, max(sizes.parts - Part.objects.count(), 10), rng)
    cards.write_offers(store, parts, suppliers, sizes.offers, rng)
    say("people, models, cards and offers written")

    ledger = stock.Ledger()
    taken = stock.Taken(store, sisters, lot_parts)
    taken.serve(stays, ledger)
    taken.write(ledger, rng)
    person = Staff.objects.filter(role="counter").values_list("pk", flat=True)[0]
    lying = stock.lying_lots(store, parts, suppliers, sizes.lots, first, last, seed)
    still_to_come = max(sizes.movements - len(ledger.when) - Movement.objects.count(), len(lying.keys))
    stock.live(store, lying, still_to_come, drawers, ledger, last, seed + 1)
    lines = orders.write_orders(store, lying, orders.group_by_order(lying, sizes.orders), numbers, person, rng)
    stock.write_lying(store, lying, lines, rng)
    say(f"lots and orders written; {len(ledger.when)} movements to write")
    stock.write_movements(store, ledger, stays, person)
    say("movements written")

    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        if done % 5_000 == 0:
            say(f"{done} of {len(stays)} jobs told")

    say("telling the jobs")
    tell(store, stays, Sets(store, customers, since, rng), models, sisters.of, tick)
    numbers.keep()
    sum_all()
    return store
