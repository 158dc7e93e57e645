"""One of the processes of `eight_at_once`: acts at random on what all share, and says each act once it is done.

A line an act on standard output: `done WHAT KEY`, `refused WHAT CODE` or `broken WHAT ERROR`. Some acts are sent twice, as a
nervous finger does; the second must find the first.
"""

import os
import random
import sys
import uuid
from collections.abc import Callable
from datetime import datetime
from typing import Any

import django

SENT_TWICE = 0.1
Act = Callable[["Hand"], str]


class Hand:
    """Who acts, by which dice, on which jobs, parts and drawers. A rule gives the key of what it made."""

    def __init__(self, number: int, seed: int) -> None:
        from inventory.models import Drawer, Part
        from jobs.models import Job
        from shop.models import Role
        from tests.builders import a_staff

        self.dice = random.Random(seed)
        self.person, self.owner = a_staff(f"hand-{number}"), a_staff("owner", Role.OWNER)
        self.jobs = list(Job.objects.order_by("pk"))
        self.drawers = list(Drawer.objects.order_by("pk"))
        self.parts = {"C2": Part.objects.get(kind="capacitance"), "R1": Part.objects.get(kind="resistance")}

    @property
    def at(self) -> datetime:
        from shop.clock import now

        return now()

    def one(self, rows: Any) -> Any:
        """One row at random; raises Nothing where there is none."""
        keys = list(rows.values_list("pk", flat=True)[:200])
        # Between the two queries somebody else may have changed the one that was picked.
        found = rows.filter(pk=self.dice.choice(keys)).first() if keys else None
        if found is None:
            raise Nothing
        return found


class Nothing(Exception):
    """There is nothing that this act could act on just now."""


def receive(hand: Hand) -> str:
    from inventory import services as stock

    part, drawer = hand.dice.choice(list(hand.parts.values())), hand.dice.choice(hand.drawers)
    at = hand.at
    return str(
        stock.receive(stock.Receipt(part, drawer, hand.dice.randint(2, 6), 20_000, at.date()), person=hand.person, at=at).pk
    )


def hold(hand: Hand) -> str:
    from inventory import services as stock
    from inventory.models import Balance

    place = hand.one(Balance.objects.filter(on_hand__gt=0).select_related("lot", "drawer"))
    return str(stock.hold(place.lot, place.drawer, 1, reference="a job", person=hand.person, at=hand.at).pk)


def let_go(hand: Hand) -> str:
    from inventory import services as stock
    from inventory.models import Hold

    held = hand.one(Hold.objects.filter(ended_at__isnull=True))
    stock.release_hold(held, at=hand.at)
    return str(held.pk)


def count(hand: Hand) -> str:
    from inventory import services as stock
    from inventory.models import Balance

    place = hand.one(Balance.objects.select_related("lot", "drawer"))
    counted = max(place.on_hand + hand.dice.choice((-1, 1)), 0)
    moved = stock.count_drawer(
        place.lot, place.drawer, counted, reason="counted", person=hand.person, at=hand.at, seen=place.on_hand
    )
    return str(moved.pk) if moved else "agreed"


def fit(hand: Hand) -> str:
    from django.db.models import F

    from inventory.models import Balance
    from jobs.services import log
    from tests.builders import position_of

    designator = hand.dice.choice(list(hand.parts))
    there = Balance.objects.filter(lot__part=hand.parts[designator], on_hand__gt=F("held")).select_related("lot", "drawer")
    place, job = hand.one(there), hand.dice.choice(hand.jobs)
    entry = log.fit(position_of(job, designator), log.Fit(place.lot, place.drawer), log.Author(hand.person, hand.at))
    return str(entry.pk)


def take_out(hand: Hand) -> str:
    from jobs.models import LogEntry
    from jobs.services import log

    entry = hand.one(LogEntry.objects.filter(kind="fitted", taken_out_by__isnull=True, job__billed=False))
    out = log.take_out(entry, "too short", log.Author(hand.person, hand.at), scrap=hand.dice.random() < 0.3)
    return str(out.pk)


def invoice(hand: Hand) -> str:
    from billing.services import issue_invoice
    from jobs.models import Job

    job = hand.one(Job.objects.filter(billed=False, entries__kind="fitted").distinct())
    return str(issue_invoice(job, person=hand.person, at=hand.at).number)


def credit(hand: Hand) -> str:
    from billing import services as till
    from billing.models import Invoice

    bill = hand.one(Invoice.objects.filter(kind="invoice", job__billed=True, credit_notes__isnull=True))
    return str(till.credit(bill, "billed too early", person=hand.owner, at=hand.at).number)


def pay(hand: Hand) -> str:
    from billing.models import Invoice
    from billing.queries import account_of, with_account
    from billing.services import Money, record_payment

    owing: Any = with_account(Invoice.objects.filter(kind="invoice"))
    bill = hand.one(owing.filter(due__gt=0))
    sum_minor = max(account_of(bill).due_minor // hand.dice.choice((1, 2, 3)), 1)
    return str(record_payment(bill, Money("paid", sum_minor, "cash"), person=hand.person, at=hand.at).pk)


ACTS: dict[str, tuple[Act, int]] = {
    "receive": (receive, 2),
    "hold": (hold, 2),
    "let_go": (let_go, 2),
    "count": (count, 2),
    "fit": (fit, 5),
    "take_out": (take_out, 2),
    "invoice": (invoice, 3),
    "credit": (credit, 2),
    "pay": (pay, 2),
}


def act_once(hand: Hand, name: str) -> tuple[str, str]:
    """Do one act as a page would: under a token of its own, once. Who waited too long is told so, as the page tells it."""
    from shop.acts import Refused, once
    from shop.web.busy import is_busy

    token, act = uuid.uuid4(), ACTS[name][0]
    try:
        key, _ = once(token, name, lambda: act(hand))
    except Nothing:
        return "refused", f"{name} nothing"
    except Refused as refused:
        return "refused", f"{name} {refused.code or type(refused).__name__}"
    except Exception as error:
        if is_busy(error):
            return "refused", f"{name} told_to_wait"
        return "broken", f"{name} {type(error).__name__}: {' '.join(str(error).split())[:200]}"
    return _sent_again(hand, name, token, key)


def _sent_again(hand: Hand, name: str, token: uuid.UUID, key: str) -> tuple[str, str]:
    from shop.acts import once
    from shop.web.busy import is_busy

    if hand.dice.random() < SENT_TWICE:
        try:
            again, done = once(token, name, lambda: ACTS[name][0](hand))
        except Exception as error:
            return ("done", f"{name} {key}") if is_busy(error) else ("broken", f"{name} sent again: {error}")
        if done or again != key:
            return "broken", f"{name} the same form acted twice: {key} and {again}"
    return "done", f"{name} {key}"


def main(number: int, acts: int, seed: int) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    hand = Hand(number, seed)
    names, weights = list(ACTS), [weight for _, weight in ACTS.values()]
    for _ in range(acts):
        print(*act_once(hand, hand.dice.choices(names, weights)[0]), flush=True)


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:4]))
