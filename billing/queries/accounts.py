"""Where the money of an invoice stands, and what is left of a job's deposits."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import BigIntegerField, Case, Exists, F, OuterRef, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce, Greatest, Least
from django.utils import timezone

from billing.models import Invoice, PaperKind, Payment, PaymentKind
from jobs.models import Deposit, Job
from shop.prepared import Prepared

# A day at either end of the calendar has no moment in every time zone; nothing is booked there.
FIRST_DAY, LAST_DAY = date(2, 1, 1), date(9998, 12, 31)
MONEY_IN = (PaymentKind.PAID, PaymentKind.MOVED_IN, PaymentKind.FROM_SALE)
MONEY_OUT = (PaymentKind.REFUND, PaymentKind.MOVED_OUT)
LET_GO = (PaymentKind.WAIVED, PaymentKind.WRITTEN_OFF)


@dataclass(frozen=True, slots=True)
class Account:
    """Where an invoice's money stands, in minor units. `due_minor` below nothing is money to give back or to move.

    What was waived or written off covers only what is still open: a credit makes less of it needed, a late payment too.
    An invoice that was credited as a whole charges nothing: of its deposits only what was given back through it stays used.
    """

    gross_minor: int
    credited_minor: int
    deposit_minor: int
    paid_minor: int
    refunded_minor: int
    moved_in_minor: int = 0
    moved_out_minor: int = 0
    let_go_minor: int = 0
    lost_booked_minor: int = 0
    is_credited: bool = False
    from_sale_minor: int = 0

    @property
    def money_minor(self) -> int:
        """Money on this invoice: received, moved here or out of a sale, less what was given back or moved away."""
        received = self.paid_minor + self.moved_in_minor + self.from_sale_minor
        return received - self.refunded_minor - self.moved_out_minor

    @property
    def prepaid_minor(self) -> int:
        """What of the deposits it uses."""
        return min(self.deposit_minor, max(0, -self.money_minor)) if self.is_credited else self.deposit_minor

    @property
    def open_minor(self) -> int:
        """What would be due if nothing had been let go; the most that can be paid without being too much."""
        charged = 0 if self.is_credited else self.gross_minor - self.credited_minor
        return charged - self.prepaid_minor - self.money_minor

    @property
    def _forgone_minor(self) -> int:
        return 0 if self.is_credited else min(self.let_go_minor, max(0, self.open_minor))

    @property
    def lost_minor(self) -> int:
        """Written off and still lost. A late payment lowers the loss before it touches what was waived."""
        return min(self.lost_booked_minor, max(0, self._forgone_minor - (self.let_go_minor - self.lost_booked_minor)))

    @property
    def waived_minor(self) -> int:
        return self._forgone_minor - self.lost_minor

    @property
    def due_minor(self) -> int:
        return self.open_minor - self._forgone_minor

    @property
    def is_settled(self) -> bool:
        return self.due_minor == 0

    def after(self, kind: str, amount_minor: int) -> "Account":
        """With one more line of money, of those that take no other back."""
        return replace(self, **{name: getattr(self, name) + amount_minor for name in _COUNTED_IN[kind]})


_COUNTED_IN: dict[str, tuple[str, ...]] = {
    PaymentKind.PAID: ("paid_minor",),
    PaymentKind.REFUND: ("refunded_minor",),
    PaymentKind.MOVED_IN: ("moved_in_minor",),
    PaymentKind.MOVED_OUT: ("moved_out_minor",),
    PaymentKind.FROM_SALE: ("from_sale_minor",),
    PaymentKind.WAIVED: ("let_go_minor",),
    PaymentKind.WRITTEN_OFF: ("let_go_minor", "lost_booked_minor"),
}


def _sum_of(rows: "QuerySet[Any]", by: str, amount: Any) -> Coalesce:
    sums = rows.order_by().values(by).annotate(sum=Sum(amount)).values("sum")
    return Coalesce(Subquery(sums), Value(0), output_field=BigIntegerField())


def _signed(taking: tuple[str, ...]) -> Case:
    """Amounts, those of the kinds that take below nothing. What lets go is taken back by a line of its own kind."""
    return Case(
        When(kind__in=LET_GO, counterpart__isnull=False, then=-F("amount_minor")),
        When(kind__in=taking, then=-F("amount_minor")),
        default=F("amount_minor"),
        output_field=BigIntegerField(),
    )


def with_account(invoices: "QuerySet[Invoice]", as_of: date | None = None) -> "QuerySet[Invoice]":
    """Adds what `account_of` reads, and `due`, so that a list takes one query. `as_of`: as it stood after that day."""
    notes, payments = Invoice.objects.filter(credits=OuterRef("pk")), Payment.objects.filter(invoice=OuterRef("pk"))
    if as_of is not None:
        notes, payments = notes.filter(issued_on__lte=as_of), payments.filter(at__lt=end_of(as_of))

    def booked(*adding: str, taking: tuple[str, ...] = ()) -> Coalesce:
        rows = payments.filter(kind__in=(*adding, *taking))
        return _sum_of(rows, "invoice", _signed(taking))

    sums = invoices.annotate(
        credited=_sum_of(notes, "credits", "gross_minor"),
        is_credited=Exists(notes.filter(whole=True)),
        paid=booked(PaymentKind.PAID),
        refunded=booked(PaymentKind.REFUND),
        moved_in=booked(PaymentKind.MOVED_IN),
        moved_out=booked(PaymentKind.MOVED_OUT),
        from_sale=booked(PaymentKind.FROM_SALE),
        let_go=booked(*LET_GO),
        lost=booked(PaymentKind.WRITTEN_OFF),
        money=booked(*MONEY_IN, taking=MONEY_OUT),
    )
    return sums.annotate(due=_due())


def _due() -> Case:
    """The account's due in SQL; `verify` and tests hold both to the same figure."""
    standing = F("gross_minor") - F("credited") - F("prepaid_minor") - F("money")
    taken_back = -F("money") - _least(F("prepaid_minor"), _above_nothing(-F("money")))
    return Case(
        When(kind=PaperKind.CREDIT_NOTE, then=Value(0)),
        When(is_credited=True, then=taken_back),
        default=standing - _least(F("let_go"), _above_nothing(standing)),
        output_field=BigIntegerField(),
    )


def _least(*of: Any) -> Least:
    return Least(*of, output_field=BigIntegerField())


def _above_nothing(of: Any) -> Greatest:
    return Greatest(of, Value(0), output_field=BigIntegerField())


def end_of(day: date) -> datetime:
    """The first moment after a day, in the shop's time zone."""
    return start_of(min(day, LAST_DAY) + timedelta(days=1))


def start_of(day: date) -> datetime:
    """The first moment of a day, in the shop's time zone."""
    return timezone.make_aware(datetime.combine(min(max(day, FIRST_DAY), LAST_DAY), time.min))


_LINE, _NOTE = ("kind", "counterpart", "amount_minor"), ("gross_minor", "whole")
_MONEY = Prepared(lambda invoice: Payment.objects.filter(invoice=invoice).order_by().values_list(*_LINE))
_NOTES = Prepared(lambda invoice: Invoice.objects.filter(credits=invoice).order_by().values_list(*_NOTE))


def account_of(invoice: Invoice) -> Account:
    """The account of an invoice; reads its rows where `with_account` didn't bring the sums."""
    known: Any = invoice
    if not hasattr(invoice, "refunded"):
        return _account(invoice, _MONEY.tuples(invoice.pk), _NOTES.tuples(invoice.pk))
    return Account(
        gross_minor=invoice.gross_minor,
        credited_minor=known.credited,
        deposit_minor=invoice.prepaid_minor,
        paid_minor=known.paid,
        refunded_minor=known.refunded,
        moved_in_minor=known.moved_in,
        moved_out_minor=known.moved_out,
        let_go_minor=known.let_go,
        lost_booked_minor=known.lost,
        is_credited=known.is_credited,
        from_sale_minor=known.from_sale,
    )


def accounts_of(invoices: Sequence[Invoice]) -> dict[int, Account]:
    """By key, summed from the rows: for an act on a few invoices that is far less work than to ask `with_account`.

    Tests hold both to the same figures.
    """
    keys = [invoice.pk for invoice in invoices]
    if not keys:
        return {}
    money = _by_invoice(Payment.objects.filter(invoice__in=keys).order_by().values_list("invoice", *_LINE))
    notes = _by_invoice(Invoice.objects.filter(credits__in=keys).order_by().values_list("credits", *_NOTE))
    return {one.pk: _account(one, money[one.pk], notes[one.pk]) for one in invoices}


def _by_invoice(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[tuple[Any, ...]]]:
    found: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for invoice, *rest in rows:
        found[invoice].append(tuple(rest))
    return found


def _account(invoice: Invoice, money: Sequence[tuple[Any, ...]], notes: Sequence[tuple[Any, ...]]) -> Account:
    """From the lines of money and the credit notes on it; what lets go is taken back by a line of its own kind."""
    booked: dict[str, int] = defaultdict(int)
    for kind, takes_back, amount in money:
        booked[kind] += -amount if kind in LET_GO and takes_back is not None else amount
    credited_minor, is_credited = sum(minor for minor, _ in notes), any(whole for _, whole in notes)
    return Account(
        gross_minor=invoice.gross_minor,
        credited_minor=credited_minor,
        deposit_minor=invoice.prepaid_minor,
        paid_minor=booked[PaymentKind.PAID],
        refunded_minor=booked[PaymentKind.REFUND],
        moved_in_minor=booked[PaymentKind.MOVED_IN],
        moved_out_minor=booked[PaymentKind.MOVED_OUT],
        let_go_minor=sum(booked[kind] for kind in LET_GO),
        lost_booked_minor=booked[PaymentKind.WRITTEN_OFF],
        is_credited=is_credited,
        from_sale_minor=booked[PaymentKind.FROM_SALE],
    )


_DEPOSITS = Prepared(lambda job: Deposit.objects.filter(job=job).order_by().values_list("given_back", "amount_minor"))


def deposits_minor(job: Job) -> int:
    """Deposits taken less those given back."""
    return sum(-minor if given_back else minor for given_back, minor in _DEPOSITS.tuples(job.pk))


def deposits_left_minor(job: Job) -> int:
    """Deposits that no invoice has used up. A credited invoice frees what it had set off, less what was refunded through it."""
    deposited = deposits_minor(job)
    if not deposited:
        # More was never set off than was taken, and what was set off is not given back.
        return 0
    invoices = list(job.invoices.filter(kind=PaperKind.INVOICE, prepaid_minor__gt=0))
    return deposited - sum(account.prepaid_minor for account in accounts_of(invoices).values())
