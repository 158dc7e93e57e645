"""Invoices to try the till on, and odd histories of money that are booked on them."""

from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from billing.models import Invoice, Payment, PaymentKind, UncollectedSale
from billing.queries import account_of, credited_of, taken_by
from billing.services import Money, PartOf, credit, credit_part, move_credit, record_payment, take_back, take_deposit
from billing.services.uncollected import PayOut, Sale, book_sale, pay_out
from jobs.models import CollectionNotice, Job
from shop.acts import Refused
from shop.clock import now
from shop.models import Customer, Profile, Role, Staff
from tests.builders import a_fit, a_job, a_lot, a_part, a_profile, a_set, a_staff, an_invoice, some_work


def boss() -> Staff:
    return a_staff("owner", Role.OWNER)


def a_bill(customer: Customer | None = None, *, deposit_minor: int = 0, minutes: int = 90, **terms: Any) -> Invoice:
    """An invoice over two pieces of a part at C2, one at R1, and work; 20 % tax unless the terms say otherwise."""
    known = Profile.current()
    if known is None or terms:
        a_profile(**{"labour_tax_bp": 2000, "parts_tax_bp": 2000, **terms})
    job = a_job("repairing", with_fit=False, radio=a_set(customer) if customer else None)
    if deposit_minor:
        take_deposit(job, deposit_minor, "cash", person=boss(), at=now())
    a_fit(job, "C2", count=2)
    a_fit(job, "R1", lot=a_lot(a_part("220K 1W", kind="resistance")))
    some_work(job, minutes)
    return an_invoice(Job.objects.get(pk=job.pk))


def book(
    invoice: Invoice, kind: str, minor: int, note: str = "agreed", *, keep: bool = False, at: datetime | None = None
) -> Payment:
    return record_payment(invoice, Money(kind, minor, "cash", note, keep), person=boss(), at=at or now())


def whole_lines(invoice: Invoice, *places: int) -> list[PartOf]:
    lines = list(invoice.lines.all())  # type: ignore[attr-defined]
    return [PartOf(lines[place], sum_minor=lines[place].amount_minor) for place in places]


# One step of a history: what is done, to which of the invoices, and a number that it takes what it needs from.
Step = tuple[str, int, int]
ACTS = ("pay", "overpay", "refund", "waive", "lose", "part", "whole", "move", "slip", "sell")


def play(invoices: list[Invoice], steps: list[Step], start: datetime) -> int:
    """Do one step a day; what the till refuses is left out. Gives how many were done."""
    done = 0
    for day, (act, place, number) in enumerate(steps, 1):
        try:
            _do(act, invoices, place % len(invoices), number, start + timedelta(days=day))
        except Refused:
            continue
        done += 1
    return done


def _do(act: str, invoices: list[Invoice], place: int, number: int, at: datetime) -> None:
    invoice = Invoice.objects.get(pk=invoices[place].pk)
    due = account_of(invoice).due_minor
    if act in ("pay", "overpay", "waive", "lose", "refund"):
        kind = {
            "refund": PaymentKind.REFUND,
            "waive": PaymentKind.WAIVED,
            "lose": PaymentKind.WRITTEN_OFF,
        }.get(act, PaymentKind.PAID)
        book(
            invoice, kind, 1 + number % max(abs(due), 1) if act != "overpay" else abs(due) + number, keep=act == "overpay", at=at
        )
    elif act == "part":
        taken = taken_by(credited_of(invoice))
        line = list(invoice.lines.all())[number % invoice.lines.count()]  # type: ignore[attr-defined]
        rest = line.amount_minor - taken[line.pk]
        credit_part(invoice, [PartOf(line, sum_minor=1 + number % max(rest, 1))], "in part", person=boss(), at=at)
    elif act == "whole":
        credit(invoice, "wrong", person=boss(), at=at)
    elif act == "move":
        goal = Invoice.objects.get(pk=invoices[(place + 1) % len(invoices)].pk)
        open_minor = min(-due, account_of(goal).open_minor)
        move_credit(invoice, goal, 1 + number % max(open_minor, 1), person=boss(), at=at)
    elif act == "sell":
        _sell(invoice, number, at)
    else:
        lines = list(Payment.objects.filter(invoice=invoice).order_by("pk"))
        if lines:
            take_back(lines[number % len(lines)], "a slip", person=boss(), at=at)


def _sell(invoice: Invoice, number: int, at: datetime) -> None:
    """The money of a sale, whatever stage the job is at; a job's set is sold once."""
    job = invoice.job
    if UncollectedSale.objects.filter(job=job).exists():
        raise Refused("It is sold already.")
    day = timezone.localdate(at)
    notice = CollectionNotice.objects.create(
        job=job, kind="sale", sent_on=day, how="post", to_whom="Iwona Brzask", names_day_on=day, at=at, person=boss()
    )
    costs = number % 700
    sale = Sale(day, 1 + number, "Orla Venn", "offered to three dealers", costs, "carriage" if costs else "")
    made = book_sale(job, notice, sale, "a rule", person=boss(), at=at)
    if made.surplus_minor:
        pay_out(made, PayOut(1 + number % made.surplus_minor, "Iwona Brzask", "cash"), person=boss(), at=at)
