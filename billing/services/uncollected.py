"""The lawful sale of a set that nobody collected, and the money that it leaves for the owner: their only writer."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from billing.models import Payment, PaymentKind, SurplusPayment, UncollectedSale
from billing.queries import account_of, money_words
from billing.queries.sales import open_invoices, sales, split_of, unsettled_for_sale
from billing.services.open_accounts import keep
from jobs.models import CollectionNotice, HandOverKind, Job, NoticeKind
from jobs.models.estimate import PayBy
from jobs.queries.collection import Clock, clock_of, uncollected
from jobs.queries.missing import safety_missing
from jobs.services.log import profile
from jobs.services.proving import record_hand_over
from jobs.services.stages import lock_job
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.money import show
from shop.place import rules_of


@dataclass(frozen=True, slots=True)
class Sale:
    """Sums in minor units of the shop's currency. `how` shows that the price is a fair one; `checked`: the law was looked at."""

    sold_on: date
    price_minor: int
    to_whom: str
    how: str
    costs_minor: int = 0
    costs_text: str = ""
    auctioned: bool = False
    how_disabled: str = ""
    checked: bool = False


@transaction.atomic
def sell(job: Job, sale: Sale, *, person: Staff, at: datetime, seen: int | None = None) -> UncollectedSale:
    """Write the sale down, pay what was owed out of it and close the job. Refused with all that speaks against it."""
    current = lock_job(job, seen)
    if not person.is_owner:
        raise Refused("Only the owner of the shop sells a set that nobody collected.", code="owner_only")
    waiting = uncollected().filter(pk=current.pk).first()
    if waiting is None:
        raise Refused(f"Job {current.number} isn't ready to collect, so its set can't be sold.", code="wrong_stage")
    clock = clock_of(waiting, rules_of(profile()).uncollected, timezone.localdate(at))
    _check_facts(sale, clock)
    _check_rules(sale, clock)
    _check_money(current)
    notice = clock.last(NoticeKind.SALE)
    if notice is None:
        raise Refused("No notice of the intention to sell is written down.", code="no_notice")
    unsafe = bool(safety_missing(current))
    if unsafe and not sale.how_disabled.strip():
        raise Refused("The set isn't proven safe: say how it was disabled before it was sold.", field="how_disabled")
    made = book_sale(current, notice, sale, clock.rule.source.citation, person=person, at=at)
    record_hand_over(
        current,
        HandOverKind.UNSAFE if unsafe else HandOverKind.PROVEN,
        received_by=sale.to_whom,
        how_disabled=sale.how_disabled if unsafe else "",
        money=money_words(current),
        person=person,
        at=at,
        code="sell_uncollected",
    )
    job.refresh_from_db()
    return made


def _check_facts(sale: Sale, clock: Clock) -> None:
    if sale.sold_on > clock.day:
        raise Refused("The day of the sale lies ahead. Write it down once it is sold.", field="sold_on")
    if sale.price_minor <= 0:
        raise Refused("The price must be above nothing.", field="price")
    if len(sale.to_whom.strip()) < 2:
        raise Refused("Write who bought it.", field="to_whom")
    if not sale.how.strip():
        raise Refused("Say how it was sold, so that the price is seen to be a fair one.", field="how")
    if sale.costs_minor and not sale.costs_text.strip():
        raise Refused("Say what the costs of the sale were.", field="costs_text")


def _check_rules(sale: Sale, clock: Clock) -> None:
    against = clock.against(sale.sold_on, sale.auctioned)
    firm = [one for one in against if one.is_firm]
    if firm:
        raise Refused("It may not be sold yet: " + "; ".join(one.told for one in firm) + ".", code=firm[0].code)
    if against and not sale.checked:
        told = "; ".join(one.told for one in against)
        raise Refused(f"{told}. Look at the current text, then tick that you did.", field="checked")


def _check_money(job: Job) -> None:
    missing = unsettled_for_sale(job)
    if missing:
        raise Refused("Before it is sold there must be: " + "; ".join(missing) + ".", code="unsettled")


@transaction.atomic
def book_sale(job: Job, notice: CollectionNotice, sale: Sale, citation: str, *, person: Staff, at: datetime) -> UncollectedSale:
    """The sale's money: what was owed is paid out of it, the oldest invoice first. Whether it may be sold is `sell`'s to know."""
    invoices = open_invoices(job)
    owed = sum(one.due for one in invoices)
    split = split_of(sale.price_minor, sale.costs_minor, owed)
    how = f"Public auction: {sale.how.strip()}" if sale.auctioned else sale.how.strip()
    made = UncollectedSale.objects.create(
        job=job,
        notice=notice,
        sold_on=sale.sold_on,
        how=how[:200],
        to_whom=sale.to_whom.strip()[:160],
        price_minor=sale.price_minor,
        costs_minor=sale.costs_minor,
        costs_text=sale.costs_text.strip()[:200] if sale.costs_minor else "",
        owed_minor=owed,
        surplus_minor=split.surplus_minor,
        citation=citation[:300],
        at=at,
        person=person,
    )
    left = split.paid_minor
    for invoice in invoices:
        paid = min(left, invoice.due)
        left -= paid
        if paid:
            Payment.objects.create(invoice=invoice, kind=PaymentKind.FROM_SALE, amount_minor=paid, at=at, person=person)
            keep(invoice, account_of(invoice).after(PaymentKind.FROM_SALE, paid).due_minor)
    return made


@dataclass(frozen=True, slots=True)
class PayOut:
    """Money out of what a sale left: to the owner of the set, or to whom the place's law names."""

    amount_minor: int
    to_whom: str
    how: str
    note: str = ""


@transaction.atomic
def pay_out(sale: UncollectedSale, money: PayOut, *, person: Staff, at: datetime, seen: int | None = None) -> SurplusPayment:
    """Pay out of the rest of a sale, never more than is left. `seen`: what was left when the person looked, in minor units."""
    job = lock_job(sale.job)
    left = sales().get(pk=sale.pk).left
    code = profile().currency
    if seen is not None and seen != left:
        raise Stale(f"Somebody else paid out of this sale meanwhile: {show(left, code)} is left. Look, then send yours again.")
    if money.amount_minor <= 0:
        raise Refused("The sum must be above nothing.", field="amount")
    if money.amount_minor > left:
        raise Refused(f"{show(left, code)} is left of the sale of job {job.number}, not more.", field="amount", code="too_much")
    if len(money.to_whom.strip()) < 2:
        raise Refused("Write who got the money.", field="to_whom")
    if money.how not in PayBy.values:
        raise Refused("Choose how it was paid.", field="how")
    return SurplusPayment.objects.create(
        sale=sale,
        amount_minor=money.amount_minor,
        to_whom=money.to_whom.strip()[:160],
        how=money.how,
        note=money.note.strip()[:200],
        at=at,
        person=person,
    )
