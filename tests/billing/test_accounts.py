"""Where an invoice's money stands, through deposits, refunds, waivers and credits."""

import pytest

from billing.models import Invoice, PaymentKind
from billing.queries import account_of, deposits_left_minor, money_missing, with_account
from billing.services import Money, credit, give_back_deposit, record_payment, take_deposit
from jobs.models import Job
from shop.acts import Refused
from shop.clock import now
from shop.models import Role, Staff
from tests.builders import a_job, a_staff, an_invoice, pay, some_work

pytestmark = pytest.mark.django_db


def boss() -> Staff:
    return a_staff("owner", Role.OWNER)


def worked_job(minutes: int = 90) -> Job:
    job = a_job("repairing", with_fit=False)
    some_work(job, minutes)
    return job


def deposit(job: Job, minor: int) -> None:
    take_deposit(job, minor, "cash", person=boss(), at=now())


def book(invoice: Invoice, kind: str, minor: int, note: str = "agreed") -> None:
    record_payment(invoice, Money(kind, minor, "cash", note), person=boss(), at=now())


def due(invoice: Invoice) -> int:
    """The same figure from the account and from the database's own reckoning."""
    account = account_of(invoice).due_minor
    assert with_account(Invoice.objects.filter(pk=invoice.pk)).get().due == account  # type: ignore[attr-defined]
    return account


def test_deposit_payment_and_waiver_settle_a_bill() -> None:
    job = worked_job()
    deposit(job, 1_000)
    invoice = an_invoice(job)
    assert due(invoice) == 5_000
    pay(invoice, 3_000)
    book(invoice, PaymentKind.WAIVED, 2_000)
    assert (due(invoice), money_missing(job)) == (0, [])


def test_a_deposit_above_the_bill_is_given_back_through_it() -> None:
    job = worked_job()
    deposit(job, 10_000)
    invoice = an_invoice(job)
    assert due(invoice) == -4_000
    assert money_missing(job) == [f"the refund that invoice {invoice.number} still owes the customer"]
    with pytest.raises(Refused, match="There is £40.00 to give back on"):
        book(invoice, PaymentKind.REFUND, 4_001)
    book(invoice, PaymentKind.REFUND, 4_000)
    assert (due(invoice), money_missing(job)) == (0, [])


def test_a_credit_after_that_refund_frees_only_what_is_left_of_the_deposit() -> None:
    job = worked_job()
    deposit(job, 10_000)
    first = an_invoice(job)
    book(first, PaymentKind.REFUND, 4_000)
    credit(first, "wrong", person=boss(), at=now())
    assert (due(first), deposits_left_minor(job)) == (0, 6_000)
    second = an_invoice(job)
    assert (second.prepaid_minor, due(second), money_missing(job)) == (6_000, 0, [])


def test_a_credit_after_payment_owes_the_money_back() -> None:
    invoice = an_invoice(worked_job())
    pay(invoice)
    credit(invoice, "wrong", person=boss(), at=now())
    assert due(invoice) == -6_000
    book(invoice, PaymentKind.REFUND, 6_000)
    assert due(invoice) == 0


def test_a_credit_after_a_waiver_owes_nothing() -> None:
    invoice = an_invoice(worked_job())
    book(invoice, PaymentKind.WAIVED, 6_000)
    credit(invoice, "wrong", person=boss(), at=now())
    assert due(invoice) == 0


def test_a_deposit_is_not_given_back_twice() -> None:
    job = worked_job()
    deposit(job, 1_000)
    give_back_deposit(job, 1_000, "cash", person=boss(), at=now())
    with pytest.raises(Refused, match="That is more than what is left of the deposit."):
        give_back_deposit(job, 1, "cash", person=boss(), at=now())


def test_an_unused_deposit_keeps_the_set_here() -> None:
    job = a_job("declined")
    deposit(job, 1_000)
    assert money_missing(job) == ["the deposit set off on an invoice or given back"]


def test_money_above_what_is_due_is_refused() -> None:
    invoice = an_invoice(worked_job())
    with pytest.raises(Refused, match=r"£60.00 is due on R-.*; £60.01 is more\."):
        book(invoice, PaymentKind.PAID, 6_001)


def test_money_goes_with_the_invoice_not_with_its_credit_note() -> None:
    note = credit(an_invoice(worked_job()), "wrong", person=boss(), at=now())
    with pytest.raises(Refused, match="Money goes with the invoice"):
        book(note, PaymentKind.PAID, 100)


def test_a_bill_at_no_charge_is_issued_all_the_same() -> None:
    job = a_job("repairing", with_fit=False)
    some_work(job, 30, not_charged="warranty")
    invoice = an_invoice(job)
    assert (invoice.gross_minor, due(invoice), money_missing(job)) == (0, 0, [])


def test_a_mistake_found_after_hand_over_is_credited_and_billed_anew() -> None:
    job = a_job("handed_over")
    first = Invoice.objects.get(job=job)
    credit(first, "wrong address", person=boss(), at=now())
    second = an_invoice(job)
    assert second.gross_minor == first.gross_minor
    with pytest.raises(Refused):
        an_invoice(job)


def test_a_closed_job_is_not_billed_for_the_first_time() -> None:
    job = a_job("returned")
    with pytest.raises(Refused, match="there is nothing to bill now"):
        an_invoice(job)
