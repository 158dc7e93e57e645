"""Rule 2: every fitted part on a finished job is on exactly one invoice line, or on one line that says why it is not charged."""

import pytest
from django.db import IntegrityError, transaction

from billing.models import InvoiceLine
from billing.queries import bill_lines, money_missing, standing
from billing.services import credit
from jobs.models import LogEntry
from jobs.queries.sheet import sheet_of
from jobs.services import log
from shop.acts import Refused
from shop.clock import now
from shop.models import Profile, Role
from tests.builders import a_fit, a_job, a_lot, a_part, a_staff, an_invoice, author, pay, position_of, some_work

pytestmark = pytest.mark.django_db


def lines_of(entry: LogEntry) -> list[InvoiceLine]:
    return list(standing(InvoiceLine.objects.filter(entry=entry)))


def test_a_fitted_part_is_on_one_line_and_a_free_one_says_why() -> None:
    job = a_job("repairing")
    charged = a_fit(job, "C2")
    free = a_fit(job, "R1", lot=a_lot(a_part("220K 1W", kind="resistance")), not_charged="broken by us")
    an_invoice(job)
    ((paid,), (told,)) = lines_of(charged), lines_of(free)
    assert (paid.charged, paid.amount_minor, paid.part_class, paid.designator) == (True, 60, "new", "C2")
    assert (told.charged, told.amount_minor, told.not_charged_reason) == (False, 0, "broken by us")


def test_a_part_taken_out_again_is_on_no_line() -> None:
    job = a_job("repairing")
    out = a_fit(job, "C2")
    log.take_out(out, "hums the same", author(), scrap=False)
    some_work(job, 15)
    an_invoice(job)
    assert lines_of(out) == []


def test_a_billed_log_does_not_grow() -> None:
    job = a_job("repairing")
    a_fit(job, "C2")
    an_invoice(job)
    words = f"Job {job.number} is billed, so its log and labour stand as they are. Credit the invoice first, then go on."
    lot = a_lot(a_part("220K 1W", kind="resistance"))
    for act in (lambda: a_fit(job, "R1", lot=lot), lambda: some_work(job), lambda: log.record_note(job, "a note", author())):
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.message == words


def test_a_billed_part_is_not_billed_again() -> None:
    job = a_job("repairing")
    a_fit(job, "C2")
    an_invoice(job)
    with pytest.raises(Refused, match="All that was fitted and worked is on an invoice already"):
        an_invoice(job)


def test_the_database_refuses_a_second_line_for_a_part() -> None:
    job = a_job("repairing")
    entry = a_fit(job, "C2")
    an_invoice(job)
    (line,) = lines_of(entry)
    line.pk = None
    line.order = 99
    with pytest.raises(IntegrityError), transaction.atomic():
        line.save(force_insert=True)


def test_a_credited_part_is_billed_anew_on_one_standing_line() -> None:
    owner = a_staff("owner", Role.OWNER)
    job = a_job("repairing")
    entry = a_fit(job, "C2")
    credit(an_invoice(job), "wrong rate", person=owner, at=now())
    again = an_invoice(job)
    (line,) = lines_of(entry)
    assert (line.invoice, line.bill_round) == (again, 1)


def test_a_finished_job_has_every_part_on_one_line() -> None:
    job = a_job("handed_over")
    fitted = sheet_of(job).fitted
    assert fitted
    assert [len(lines_of(entry)) for entry in fitted] == [1] * len(fitted)


def test_what_is_not_billed_keeps_the_set_here() -> None:
    job = a_job("ready")
    assert money_missing(job) == ["an invoice for the work done"]
    pay(an_invoice(job))
    assert money_missing(job) == []
    assert bill_lines(job, Profile.objects.get()) == []
    assert position_of(job, "C2")
