"""Rule 4: an issued invoice never changes; its number has no gap and no double, whatever crashes; a mistake is a credit note."""

import threading
import uuid
from typing import Any

import pytest
from django.db import IntegrityError, connections, transaction
from django.db.utils import DatabaseError

from billing.models import Invoice, InvoiceLine, Payment
from billing.papers import invoice_paper
from billing.services import credit, issue_invoice
from jobs.models import Job
from shop import acts
from shop.acts import Refused
from shop.clock import now
from shop.letterhead_of import letterhead
from shop.models import Role
from tests.builders import a_customer, a_fit, a_job, a_lot, a_part, a_profile, a_set, a_staff, an_invoice, pay

EDITS: list[tuple[Any, str, object]] = [
    (Invoice, "gross_minor", 1),
    (Invoice, "buyer_name", "somebody else"),
    (InvoiceLine, "amount_minor", 1),
    (InvoiceLine, "text", "another part"),
    (Payment, "amount_minor", 1),
]


def billed_job() -> tuple[Job, Invoice]:
    job = a_job("repairing")
    a_fit(job, "C2")
    return job, an_invoice(job)


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "column", "value"), EDITS)
def test_the_database_refuses_to_change_what_was_issued(model: Any, column: str, value: object) -> None:
    _, invoice = billed_job()
    pay(invoice)
    with pytest.raises(DatabaseError, match="append-only: UPDATE refused"), transaction.atomic():
        model.objects.update(**{column: value})
    with pytest.raises(DatabaseError, match="append-only: DELETE refused"), transaction.atomic():
        model.objects.all()._raw_delete(model.objects.db)


@pytest.mark.django_db
def test_the_paper_stays_as_it_was_whatever_the_shop_or_customer_changes() -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000, terms="Cash only.")
    job, invoice = billed_job()
    head = letterhead()
    before = invoice_paper(invoice, head)
    a_profile(
        labour_tax_bp=900, parts_tax_bp=900, terms="Anything.", prices_include_tax=True, currency="EUR", tax_rounding="line"
    )
    type(job.customer).objects.filter(pk=job.customer_id).update(name="Somebody Else", address="Elsewhere")
    Job.objects.filter(pk=job.pk).update(fault="another story")
    pay(invoice, 30)
    assert invoice_paper(Invoice.objects.get(pk=invoice.pk), head) == before


@pytest.mark.django_db
def test_a_form_sent_twice_issues_one_invoice() -> None:
    job = a_job("repairing")
    a_fit(job, "C2")
    token = uuid.uuid4()
    done = [acts.once(token, "issue", lambda: str(an_invoice(job)))[1] for _ in range(2)]
    assert (done, Invoice.objects.count()) == ([True, False], 1)


@pytest.mark.django_db
def test_a_mistake_is_a_credit_note_in_its_own_series() -> None:
    owner = a_staff("owner", Role.OWNER)
    job, invoice = billed_job()
    note = credit(invoice, "wrong customer", person=owner, at=now())
    assert (note.is_credit, note.credits, note.gross_minor, note.series) == (True, invoice, invoice.gross_minor, "C")
    pairs = zip(invoice.lines.all(), note.lines.all(), strict=True)  # type: ignore[attr-defined]
    assert all(credited.credits_line_id == line.pk and credited.amount_minor == line.amount_minor for line, credited in pairs)
    job.refresh_from_db()
    assert job.billed is False
    with pytest.raises(Refused, match="was credited already"):
        credit(invoice, "again", person=owner, at=now())


@pytest.mark.django_db
def test_only_the_owner_credits() -> None:
    _, invoice = billed_job()
    with pytest.raises(Refused, match="Only the owner credits an invoice."):
        credit(invoice, "wrong", person=a_staff("till", Role.COUNTER), at=now())


@pytest.mark.django_db
def test_a_failure_in_the_middle_gives_the_number_back(monkeypatch: pytest.MonkeyPatch) -> None:
    job = a_job("repairing")
    a_fit(job, "C2")
    with monkeypatch.context() as patch:
        patch.setattr("billing.services.invoices._line", _break)
        with pytest.raises(RuntimeError, match="power cut"):
            an_invoice(job)
    assert (Invoice.objects.count(), an_invoice(job).sequence) == (0, 1)


def _break(*_: object) -> None:
    raise RuntimeError("power cut")


@pytest.mark.django_db
def test_the_database_refuses_a_double_number() -> None:
    _, invoice = billed_job()
    invoice.pk = None
    invoice.number = "R-elsewhere"
    with pytest.raises(IntegrityError), transaction.atomic():
        invoice.save(force_insert=True)


@pytest.mark.django_db(transaction=True)
def test_many_tills_at_once_leave_no_gap_and_no_double() -> None:
    """Eight tills bill sixteen jobs; every third attempt dies in the middle of its transaction and is made again."""
    person, jobs = a_staff(), []
    part = a_part()
    for n in range(16):
        customer = a_customer(f"Customer {n}")
        job = a_job("repairing", radio=a_set(customer, serial=str(n)), with_fit=False)
        a_fit(job, "C2", lot=a_lot(part))
        jobs.append(job)
    failures: list[BaseException] = []
    threads = [threading.Thread(target=_bill, args=(jobs[n::8], person, failures)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert sorted(Invoice.objects.values_list("sequence", flat=True)) == list(range(1, 17))


class Crash(Exception):
    pass


def _bill(jobs: list[Job], person: Any, failures: list[BaseException]) -> None:
    try:
        for job in jobs:
            if job.pk % 3 == 0:
                _crash_in_the_middle(job, person)
            issue_invoice(job, person=person, at=now())
    except BaseException as error:
        failures.append(error)
    finally:
        connections.close_all()


def _crash_in_the_middle(job: Job, person: Any) -> None:
    try:
        with transaction.atomic():
            issue_invoice(job, person=person, at=now())
            raise Crash
    except Crash:
        pass


@pytest.mark.django_db(transaction=True)
def test_two_tills_on_one_job_issue_one_invoice() -> None:
    job, person, answers = a_job("repairing"), a_staff(), []
    a_fit(job, "C2")
    gate = threading.Barrier(4)

    def bill() -> None:
        gate.wait()
        try:
            answers.append(issue_invoice(job, person=person, at=now()).number)
        except Refused as refused:
            answers.append(refused.code)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=bill) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers)[1:] == ["nothing_to_bill"] * 3
    assert Invoice.objects.count() == 1
