"""Acts through their services, against what they say to the database said raw (`replaying`): both sides round by round."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from itertools import cycle, islice
from statistics import median
from typing import Any

from django.db import connection

from shop.clock import now
from tests.speed.whole_shop.replaying import Raw, Statement, Taken, copies, heard, mean_of, taken_by, writes_of

# So many acts in a row on each side, turn by turn: throughput is what is asked, and both sides have the machine's same mood.
BLOCK = 8
# The first acts fill what is kept in the process, such as the reader of notations.
WARM_UP = 1


@dataclass(frozen=True, slots=True)
class Round:
    """One act, and what must be done before it can be; that is replayed too, and not measured."""

    work: Callable[[], Any]
    before: Callable[[], Any] | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """A block of acts both ways, seconds for one of them."""

    ours: Taken
    writes: Taken
    whole: Taken


def measured(rounds: int) -> list[dict[str, Any]]:
    """For each act the medians of its pairs: shares of the raw side's pace, and seconds."""
    if connection.vendor != "sqlite":
        return []
    with copies(("writes", "whole")) as raw:
        return [_measured(name, works, raw) for name, works in _acts((rounds + WARM_UP) * BLOCK)]


def _measured(name: str, works: Iterator[Round], raw: list[Raw]) -> dict[str, Any]:
    pairs: list[Pair] = []
    said: list[Statement] = []
    while done := [_heard(one) for one in islice(works, BLOCK)]:
        pairs.append(_pair(done, raw))
        said = done[-1].said
    kept = pairs[WARM_UP:]
    return {
        "act": name,
        "rounds": len(kept),
        "writes": len(writes_of(said)),
        "queries": len(said),
        "said": [_shortened(sql) for sql, _ in said],
        **{
            f"{side}_{unit}": median(getattr(getattr(pair, side), unit) for pair in kept)
            for side in ("ours", "writes", "whole")
            for unit in ("cpu", "clock")
        },
        **{f"{side}_share_{unit}": _share(kept, side, unit) for side in ("writes", "whole") for unit in ("cpu", "clock")},
    }


@dataclass(frozen=True, slots=True)
class Done:
    """An act that was done: what it took, what it said, and what was said before it could be."""

    ours: Taken
    before: list[Statement]
    said: list[Statement]


def _heard(one: Round) -> Done:
    """Done as it comes: what makes the next act possible may be what this one left."""
    before: list[Statement] = []
    if one.before is not None:
        with heard() as before:
            one.before()
    with heard() as said:
        ours = taken_by(one.work)
    return Done(ours, before, said)


def _pair(done: list[Done], raw: list[Raw]) -> Pair:
    return Pair(
        mean_of([one.ours for one in done]),
        mean_of([_replayed(raw[0], writes_of(one.before), writes_of(one.said)) for one in done]),
        mean_of([_replayed(raw[1], one.before, one.said) for one in done]),
    )


def _replayed(raw: Raw, before: list[Statement], said: list[Statement]) -> Taken:
    if before:
        raw.replay(before)
    return raw.replay(said)


def _share(pairs: list[Pair], side: str, unit: str) -> float:
    """The median of what each pair says, as a machine that is busy is so for both of a pair."""
    return median(getattr(getattr(pair, side), unit) / getattr(pair.ours, unit) for pair in pairs)


def _shortened(sql: str) -> str:
    """`SELECT … FROM "jobs_job" WHERE …` without its columns."""
    head, found, rest = sql.partition(" FROM ")
    return f"{head[:6]} …{found}{rest}"[:200] if sql.startswith("SELECT") and found else sql[:120]


def _acts(rounds: int) -> Iterator[tuple[str, Iterator[Round]]]:
    """The works of each act; made once the one before was measured, so that they see what it left."""
    from jobs.services.log import Author
    from shop.models import Staff

    person, at = Staff.objects.get(username="owner"), now()
    bills: list[Any] = []
    yield "a measurement in the log", islice(_measurements(Author(person, at)), rounds)
    yield "a part fitted", islice(_fits(Author(person, at)), rounds)
    yield "an invoice", islice(_invoices(person, at + timedelta(minutes=1), bills), rounds)
    yield "a payment", islice(_payments(person, at + timedelta(minutes=2), bills), rounds)


def _places() -> list[Any]:
    """Capacitors of sets on the bench, with their jobs, as pages load them."""
    from jobs.models import Position, Stage

    found = Position.objects.select_related("job").filter(job__stage=Stage.REPAIRING, job__billed=False, called__contains="F")
    return list(found.order_by("pk"))


def _measurements(author: Any) -> Iterator[Round]:
    from jobs.services import log

    for place in cycle(_places()):
        yield Round(lambda place=place: log.record_measured(place, "open", author))  # type: ignore[misc]


def _fits(author: Any) -> Iterator[Round]:
    from inventory.models import Balance
    from jobs.services import log
    from shop.models import Staff

    there = Balance.objects.filter(on_hand__gt=20, held=0, lot__part__kind="capacitance", lot__blocked_reason="", lot__owner=None)
    stock = list(there.select_related("lot__part", "drawer").order_by("-on_hand", "pk")[:4])
    second = Staff.objects.exclude(pk=author.person.pk).filter(role="bench")[0]
    for place, one in zip(cycle(_places()), cycle(stock)):
        fitting = log.Fit(one.lot, one.drawer, override_reason="measured only", override_by=second, not_charged="measured only")
        yield Round(lambda place=place, fitting=fitting: log.fit(place, fitting, author))  # type: ignore[misc]


def _invoices(person: Any, at: Any, bills: list[Any]) -> Iterator[Round]:
    """Every job with parts in it that isn't billed; where they are fewer than the rounds, one is credited and billed again."""
    from billing.services import credit, issue_invoice
    from billing.services.invoices import BILLABLE
    from jobs.models import Job

    found = Job.objects.filter(stage__in=BILLABLE, billed=False, entries__kind="fitted").distinct().order_by("pk")
    jobs = list(found)
    for count, job in enumerate(cycle(jobs)):
        again = partial(credit, bills[count - len(jobs)], "measured only", person=person, at=at) if count >= len(jobs) else None
        yield Round(lambda job=job: bills.append(issue_invoice(job, person=person, at=at)), again)  # type: ignore[misc]


def _payments(person: Any, at: Any, bills: list[Any]) -> Iterator[Round]:
    """Of the newest invoices, as those before them may have been credited."""
    from billing.models import PaymentKind
    from billing.services import Money, record_payment

    for bill in cycle(reversed(bills[-8:])):
        yield Round(lambda bill=bill: record_payment(bill, Money(PaymentKind.PAID, 1, "card"), person=person, at=at))  # type: ignore[misc]
