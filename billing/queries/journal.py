"""The journal: every paper and every line of money of a period as a double entry that balances to nothing.

Account words are the shop's own plain words. Debit is above nothing, credit below it. Each entry is in one currency, its paper's.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date

from django.utils import timezone

from billing.models import Invoice, InvoiceLine, LineKind, Payment, PaymentKind, SurplusPayment, UncollectedSale
from billing.queries.accounts import end_of, start_of
from billing.queries.frozen import frozen_totals
from billing.queries.ledger import AT_ONCE, Step, steps_of, touched, with_history
from billing.queries.periods import Period
from inventory.models import SupplierBill
from jobs.models import Deposit
from shop.models import TaxCategory
from shop.totals import TaxKey

OWED = "money owed by customers"
DEPOSITS = "deposits held"
WAIVED = "waived"
LOST = "written off as lost"
MOVED = "on the way between invoices"
RECEIVED_FROM_SALES, SALE_HELD = "money received: sales of uncollected sets", "held from sales of uncollected sets"
SALE_COSTS, SALE_LOST = "money paid: costs of such sales", "costs of such sales, not covered"
SALES: dict[str, str] = {
    LineKind.PART: "sales: parts",
    LineKind.LABOUR: "sales: labour",
    LineKind.FLAT: "sales: tasks at a fixed price",
}
BOUGHT, TAX_PAID, OWING = "bought: parts and carriage", "tax paid to suppliers", "money owed to suppliers"


@dataclass(frozen=True, slots=True)
class Line:
    account: str
    minor: int

    @property
    def debit_minor(self) -> int:
        return max(self.minor, 0)

    @property
    def credit_minor(self) -> int:
        return max(-self.minor, 0)


@dataclass(frozen=True, slots=True)
class Entry:
    """What one paper or one line of money did. `pk` of the invoice it is on, if any; `who` is the customer or the supplier."""

    on: date
    paper: str
    text: str
    who: str
    currency: str
    lines: tuple[Line, ...]
    invoice_pk: int | None = None

    @property
    def sum_minor(self) -> int:
        """Of all lines: nothing, or the entry is wrong."""
        return sum(line.minor for line in self.lines)


@dataclass(frozen=True, slots=True)
class AccountSum:
    account: str
    currency: str
    debit_minor: int
    credit_minor: int


@dataclass(frozen=True, slots=True)
class Journal:
    period: Period
    entries: tuple[Entry, ...] = field(default=())

    def sums(self) -> list[AccountSum]:
        """Debit and credit of each account, a currency at a time."""
        debit: Counter[tuple[str, str]] = Counter()
        credit: Counter[tuple[str, str]] = Counter()
        for entry in self.entries:
            for line in entry.lines:
                debit[entry.currency, line.account] += line.debit_minor
                credit[entry.currency, line.account] += line.credit_minor
        return [AccountSum(name, code, debit[code, name], credit[code, name]) for code, name in sorted(debit)]


def journal_of(period: Period, shop_currency: str) -> Journal:
    """`shop_currency` is that of deposits, which are taken before there is a paper. The same number of queries for any period."""
    of_customers = [*_of_invoices(period), *_of_deposits(period, shop_currency), *_of_sales(period, shop_currency)]
    entries = [*of_customers, *_of_suppliers(period)]
    return Journal(period, tuple(sorted(entries, key=lambda entry: (entry.on, entry.paper))))


def tax_account(key: TaxKey) -> str:
    """`tax at 20 %`; where nothing is charged, why."""
    if key.rate_bp:
        return f"tax at {key.rate_bp / 100:g} %"
    return f"no tax: {TaxCategory(key.category).label.lower()}" if key.category in TaxCategory.values else "no tax"


def _of_invoices(period: Period) -> Iterator[Entry]:
    invoices = with_history(Invoice.objects.filter(touched(period.first, period.last)).order_by("pk"))
    moved: dict[int, list[Entry]] = {}
    for invoice in invoices.prefetch_related("lines", "credit_notes__lines").iterator(chunk_size=AT_ONCE):
        for step in steps_of(invoice):
            if not period.first <= step.on <= period.last:
                continue
            entry = _entry(step)
            if step.money is None or step.money.kind not in (PaymentKind.MOVED_OUT, PaymentKind.MOVED_IN):
                yield entry
                continue
            moved.setdefault(_move_key(step.money), []).append(entry)
    yield from (_joined(both) for both in moved.values())


def _move_key(money: Payment) -> int:
    """Both ends of a move are known by its outgoing line."""
    return money.pk if money.kind == PaymentKind.MOVED_OUT else money.counterpart_id or money.pk


def _joined(both: list[Entry]) -> Entry:
    """One entry of a move's two ends: what is on the way between them cancels out."""
    first, lines = both[0], [line for entry in both for line in entry.lines if line.account != MOVED]
    paper = " to ".join(dict.fromkeys(entry.paper for entry in both)) if len(both) == 2 else first.paper
    out = next((entry for entry in both if entry.text.startswith("Moved to")), first)
    return Entry(first.on, paper, out.text, first.who, first.currency, tuple(lines), out.invoice_pk)


def _entry(step: Step) -> Entry:
    before, after = step.before, step.after
    sums = [
        (OWED, step.due_minor),
        (DEPOSITS, after.prepaid_minor - before.prepaid_minor),
        (WAIVED, after.waived_minor - before.waived_minor),
        (LOST, after.lost_minor - before.lost_minor),
        *(_received(step.money) if step.money else _sold(step.paper, step.invoice)),
    ]
    lines = [Line(account, minor) for account, minor in sums if minor] or [Line(OWED, 0)]
    name = step.paper.number
    return Entry(step.on, name, step.words, step.invoice.buyer_name, step.invoice.currency, tuple(lines), step.invoice.pk)


def _received(money: Payment) -> list[tuple[str, int]]:
    signed = {
        PaymentKind.PAID: (f"money received: {money.get_how_display().lower()}", money.amount_minor),
        PaymentKind.REFUND: (f"money received: {money.get_how_display().lower()}", -money.amount_minor),
        PaymentKind.MOVED_IN: (MOVED, money.amount_minor),
        PaymentKind.MOVED_OUT: (MOVED, -money.amount_minor),
        PaymentKind.FROM_SALE: (SALE_HELD, money.amount_minor),
    }
    kind = PaymentKind(money.kind)
    return [signed[kind]] if kind in signed else []


def _sold(paper: Invoice, invoice: Invoice) -> list[tuple[str, int]]:
    """Sales by kind and tax by rate, of the frozen lines; an invoice credits them, a credit note debits them."""
    sign, lines = 1 if paper.is_credit else -1, list(paper.lines.all())  # type: ignore[attr-defined]
    by_kind: Counter[str] = Counter()
    for line in lines:
        by_kind[line.kind] += line.net_minor
    totals = frozen_totals(paper, lines, before=earlier_lines(paper, invoice))
    sales = [(SALES[kind], sign * by_kind[kind]) for kind in SALES]
    return [*sales, *((tax_account(one.tax), sign * one.tax_minor) for one in totals.taxes)]


def earlier_lines(paper: Invoice, invoice: Invoice) -> list[InvoiceLine]:
    """Lines of the notes before a note, out of what was read with the invoice."""
    notes = invoice.credit_notes.all() if paper.is_credit else ()  # type: ignore[attr-defined]
    return [line for note in notes if note.pk < paper.pk for line in note.lines.all()]


def _of_deposits(period: Period, currency: str) -> Iterator[Entry]:
    taken = Deposit.objects.filter(at__gte=start_of(period.first), at__lt=end_of(period.last))
    for one in taken.select_related("job__customer").order_by("pk"):
        sign = -1 if one.given_back else 1
        money = Line(f"money received: {one.get_how_display().lower()}", sign * one.amount_minor)
        text = f"Deposit {'given back' if one.given_back else 'taken'}, {one.get_how_display().lower()}"
        lines = (money, Line(DEPOSITS, -sign * one.amount_minor))
        yield Entry(timezone.localdate(one.at), one.job.number, text, one.job.customer.name, currency, lines)


def _of_sales(period: Period, currency: str) -> Iterator[Entry]:
    """The price of an uncollected set, less costs, is held: what was owed is paid out of it, the rest is the owner's."""
    for one in (
        UncollectedSale.objects.filter(sold_on__range=(period.first, period.last)).select_related("job__customer").order_by("pk")
    ):
        net = one.price_minor - one.costs_minor
        sums = (
            (RECEIVED_FROM_SALES, one.price_minor),
            (SALE_COSTS, -one.costs_minor),
            (SALE_HELD, -max(net, 0)),
            (SALE_LOST, max(-net, 0)),
        )
        lines = tuple(Line(account, minor) for account, minor in sums if minor) or (Line(SALE_HELD, 0),)
        yield Entry(one.sold_on, one.job.number, "Sold, as nobody collected it", one.job.customer.name, currency, lines)
    paid = SurplusPayment.objects.filter(at__gte=start_of(period.first), at__lt=end_of(period.last))
    for out in paid.select_related("sale__job").order_by("pk"):
        how = out.get_how_display().lower()
        lines = (Line(SALE_HELD, out.amount_minor), Line(f"money received: {how}", -out.amount_minor))
        text = f"Rest of a sale paid out, {how}"
        yield Entry(timezone.localdate(out.at), out.sale.job.number, text, out.to_whom, currency, lines)


def _of_suppliers(period: Period) -> Iterator[Entry]:
    bills = SupplierBill.objects.filter(billed_on__range=(period.first, period.last)).select_related("supplier").order_by("pk")
    for bill in bills:
        sums = ((BOUGHT, bill.net_minor), (TAX_PAID, bill.tax_minor), (OWING, -bill.net_minor - bill.tax_minor))
        lines = tuple(Line(account, minor) for account, minor in sums if minor) or (Line(OWING, 0),)
        yield Entry(bill.billed_on, bill.number, f"Bill of {bill.supplier}", bill.supplier.name, bill.currency, lines)


def unbalanced(entries: Iterable[Entry]) -> list[Entry]:
    return [entry for entry in entries if entry.sum_minor]
