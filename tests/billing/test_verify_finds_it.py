"""`manage.py verify` finds what was broken behind the till's back, and nothing in a till that did every kind of thing."""

from collections.abc import Callable

import pytest

from billing.models import Invoice, InvoiceLine, OpenAccount, Payment, PaymentKind
from billing.services import PartOf, credit, credit_part, move_credit, take_back
from billing.verification import LOOKS
from shop.clock import now
from tests.billing.histories import a_bill, book, boss, whole_lines
from tests.builders import a_customer
from tests.shop.test_verify import behind_its_back

pytestmark = pytest.mark.django_db


@pytest.fixture
def busy_till(db: None) -> None:
    """Part and whole credits, too much money, a move taken back, a slip, a loss with a late payment."""
    who = a_customer()
    first, second, third = a_bill(who, deposit_minor=1_000, parts_tax_bp=1925), a_bill(who), a_bill(who)
    book(first, PaymentKind.PAID, 9_000, keep=True)
    line = move_credit(first, second, 500, person=boss(), at=now())
    take_back(line, "wrong one", person=boss(), at=now())
    move_credit(first, second, 400, person=boss(), at=now())
    take_back(book(second, PaymentKind.PAID, 100), "a slip", person=boss(), at=now())
    book(second, PaymentKind.WRITTEN_OFF, 1_000)
    credit_part(third, [PartOf(third.lines.get(designator="C2"), count=1)], "goodwill", person=boss(), at=now())  # type: ignore[attr-defined]
    credit_part(first, whole_lines(first, 1), "goodwill", person=boss(), at=now())
    credit(first, "wrong", person=boss(), at=now())


def found() -> list[str]:
    return [difference for look in LOOKS for difference in look().differences]


def test_nothing_where_nothing_was_broken(busy_till: None) -> None:
    assert found() == []


def _note() -> Invoice:
    note = Invoice.objects.filter(kind="credit_note", whole=False).order_by("pk").first()
    assert note is not None
    return note


BREAKS: list[tuple[Callable[[], object], str]] = [
    (lambda: InvoiceLine.objects.filter(invoice=_note()).update(amount_minor=999, count=1, unit_minor=999), "is credited by 999"),
    (lambda: Invoice.objects.filter(pk=_note().pk).update(tax_minor=0, gross_minor=60, net_minor=60), "tax_minor of C-"),
    (lambda: Invoice.objects.filter(whole=True, kind="credit_note").update(whole=False), " billed: kept False, derived True"),
    (lambda: InvoiceLine.objects.filter(invoice=_note()).update(tax_bp=700), "tax_bp of a credited line of R-"),
    (lambda: Payment.objects.filter(kind="moved_in").update(amount_minor=1), "sum of moved from another invoice on R-"),
    (lambda: Payment.objects.filter(kind="moved_in").update(counterpart=None), "came from nowhere"),
    (lambda: Payment.objects.filter(kind="moved_in").delete(), "came in nowhere"),
    (lambda: Payment.objects.filter(kind="refund").update(amount_minor=1), "sum of refund on R-"),
    (lambda: Payment.objects.update(invoice=_note()), "bears a payment"),
    (lambda: OpenAccount.objects.update(due_minor=1), "kept as due of R-"),
    (lambda: OpenAccount.objects.all().delete(), "kept as due of R-"),
    (lambda: OpenAccount.objects.create(invoice=_note(), due_minor=1), "kept as due of C-"),
]


@pytest.mark.parametrize(("break_it", "told"), BREAKS, ids=range(len(BREAKS)))
def test_what_was_broken_is_told(busy_till: None, break_it: Callable[[], object], told: str) -> None:
    with behind_its_back():
        Payment.objects.filter(counterpart__kind="moved_in").update(counterpart=None)
        break_it()
    assert any(told in difference for difference in found()), found()
