"""The clock of keeping: until when the law wants a customer's papers kept, reckoned from the newest record of each job."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef
from django.utils import timezone

from billing.models import Invoice
from billing.queries.accounts import start_of
from billing.queries.personal import money_holds, paper_records
from inventory.queries.personal import parts_lying
from jobs.models import HandOver, Job
from jobs.queries.personal import Record, holds, records
from shop.jurisdictions import PLACES, Rules
from shop.jurisdictions.rules import Retention
from shop.models import Customer, DataRequest, DataRequestKind

DONE_KINDS = (DataRequestKind.ERASE, DataRequestKind.CLOCK)


@dataclass(frozen=True, slots=True)
class Kept:
    """A record with the last day on which it must be kept, and the rule that says so."""

    record: Record
    rule: Retention
    until_on: date

    @property
    def order(self) -> tuple[date, date]:
        return self.until_on, self.record.on


@dataclass(frozen=True, slots=True)
class Clock:
    """A customer's clock. `newest` is None where no paper names them: then it runs from the day their card was written."""

    customer: Customer
    since_on: date
    until_on: date
    rule: Retention
    newest: Record | None
    holds: tuple[str, ...]

    def has_ended(self, day: date) -> bool:
        return not self.holds and self.until_on < day

    @property
    def why(self) -> str:
        return self.newest.what if self.newest else "no paper; their card"


def kept(record: Record, rules: Rules) -> Kept:
    """Under the longer of the shop's own rule and that of the place a paper was issued under."""
    named = PLACES[record.place].retention if record.place in PLACES else rules.retention
    rule = max(rules.retention, named, key=lambda one: one.years)
    return Kept(record, rule, rule.must_stay_until(record.on))


def longest_by_job(found: Iterable[Record], rules: Rules) -> dict[int, Kept]:
    longest: dict[int, Kept] = {}
    for one in found:
        new, old = kept(one, rules), longest.get(one.job_pk)
        if old is None or new.order > old.order:
            longest[one.job_pk] = new
    return longest


def all_records(customers: Iterable[int] | None = None) -> list[Record]:
    asked = None if customers is None else list(customers)
    return [*records(asked), *paper_records(asked)]


def all_holds(day: date, customers: Iterable[int] | None = None) -> dict[int, list[str]]:
    asked = None if customers is None else list(customers)
    jobs, money = holds(day, asked), money_holds(asked)
    return {pk: [*jobs.get(pk, []), *money.get(pk, [])] for pk in jobs.keys() | money.keys()}


def clocks(day: date, rules: Rules) -> list[Clock]:
    """Of every customer of whom something is left to erase, the first to end first; as many questions for many as for one."""
    gone = _wholly_erased()
    left = [one for one in Customer.objects.all() if one.pk not in gone]
    return sorted(_clocks_of(left, day, rules), key=lambda clock: (clock.until_on, clock.customer.name, clock.customer.pk))


def first_ended(day: date, rules: Rules, most: int) -> list[Clock]:
    """Clocks that have ended, in the order in which the customers came: all of them, or at least `most` where there are more."""
    since, gone = rules.retention.must_stay_since(day), _wholly_erased()
    papers = Invoice.objects.filter(customer=OuterRef("pk"), issued_on__gte=since)
    handed = HandOver.objects.filter(job__customer=OuterRef("pk"), at__gte=start_of(since))
    old = Customer.objects.filter(~Exists(papers), ~Exists(handed), created_at__lt=start_of(since)).exclude(pk__in=gone)
    # Most of those without a newer paper are held by nothing else.
    at_once = most + most // 4 + 1
    ended: list[Clock] = []
    after: int | None = 0
    while after is not None and len(ended) < most:
        some = list(old.filter(pk__gt=after).order_by("pk")[:at_once])
        found = _clocks_of(some, day, rules, [one.pk for one in some])
        ended += [clock for clock in found if clock.has_ended(day)]
        after = some[-1].pk if len(some) == at_once else None
    return ended


def _clocks_of(customers: Iterable[Customer], day: date, rules: Rules, keys: list[int] | None = None) -> list[Clock]:
    """Of these customers; `keys` names them where they aren't nearly all."""
    newest: dict[int, Kept] = {}
    for one in longest_by_job(all_records(keys), rules).values():
        old = newest.get(one.record.customer_pk)
        if old is None or one.order > old.order:
            newest[one.record.customer_pk] = one
    held = held_by_customer(all_holds(day, keys), keys)
    return [_clock(one, newest.get(one.pk), held, rules) for one in customers]


def held_by_customer(found: Mapping[int, list[str]], customers: Iterable[int] | None = None) -> dict[int, tuple[str, ...]]:
    """Why a customer's card stays, in words: what holds their jobs, sets whose warranty they have, parts they brought."""
    held: dict[int, list[str]] = defaultdict(list)
    heads = Job.objects.filter(pk__in=found).values_list("pk", "number", "customer", "radio__customer")
    for pk, number, customer, now_theirs in heads:
        for whose in {customer, now_theirs}:
            held[whose] += [f"{number}: {why}" for why in found[pk]]
    for customer, count in parts_lying(customers).items():
        held[customer].append(f"{count} {'part' if count == 1 else 'parts'} of theirs in our drawers")
    return {customer: tuple(sorted(whys)) for customer, whys in held.items()}


def _clock(customer: Customer, newest: Kept | None, held: Mapping[int, tuple[str, ...]], rules: Rules) -> Clock:
    whys = held.get(customer.pk, ())
    if newest is not None:
        return Clock(customer, newest.record.on, newest.until_on, newest.rule, newest.record, whys)
    since = timezone.localdate(customer.created_at)
    return Clock(customer, since, rules.retention.must_stay_until(since), rules.retention, None, whys)


def _wholly_erased() -> set[int]:
    """Customers of whom the last erasing left nothing behind."""
    rows = DataRequest.objects.filter(kind__in=DONE_KINDS).order_by("pk")
    left: dict[int, bool] = {one.customer_id: bool(one.answer.get("kept")) for one in rows}
    return {pk for pk, any_left in left.items() if not any_left}
