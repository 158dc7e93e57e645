"""Rule 5: nothing above the sum agreed to (plus the shop's written allowance) is charged without a newer consent."""

import pytest

from billing.services import issue_invoice
from jobs.models import Job, LabourEntry
from jobs.models.estimate import EstimateLineKind
from jobs.services import estimates
from jobs.services.consents import Answer, record_answer
from shop.acts import Refused
from shop.clock import now
from tests.builders import a_fit, a_job, a_lot, a_part, a_profile, a_staff, an_invoice, some_work

pytestmark = pytest.mark.django_db


def agree_to(job: Job, labour_minor: int) -> None:
    """A revision with the work named anew, and the customer's yes to it."""
    revision = estimates.draft(job, person=a_staff(), at=now())
    line = revision.lines.get(from_log=False)  # type: ignore[attr-defined]
    typed = estimates.TypedLine(EstimateLineKind.FEE, "Work", low_minor=labour_minor, high_minor=labour_minor)
    estimates.add_line(revision, typed, line=line)
    sent = estimates.send(revision, person=a_staff(), at=now())
    record_answer(sent, Answer(True, "in_person", "Iwona Brzask", person=a_staff()), at=now())


def test_labour_and_parts_stop_at_the_agreed_sum() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    some_work(job, 120)
    words = (
        "£80.00 is agreed (with the shop's allowance), and with this part the job would stand at £80.60. Revise the estimate and "
        "get the customer's consent, or enter it as not charged with a reason."
    )
    with pytest.raises(Refused) as refused:
        a_fit(job, "C2")
    assert (refused.value.message, refused.value.code) == (words, "over_ceiling")
    with pytest.raises(Refused, match="with this labour the job would stand at £90.00"):
        some_work(job, 15)


def test_the_written_allowance_is_the_only_room_above_it() -> None:
    a_profile(allowance_bp=1000)
    job = a_job("repairing", labour_minor=10_000, with_fit=False)
    some_work(job, 165)
    with pytest.raises(Refused, match="£110.00 is agreed"):
        some_work(job, 15)
    a_profile(allowance_bp=9_000)
    with pytest.raises(Refused, match="£110.00 is agreed"):
        some_work(job, 15)


def test_a_newer_consent_raises_the_sum() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    some_work(job, 120)
    agree_to(job, 12_000)
    some_work(job, 60)
    assert an_invoice(job).gross_minor == 12_000


def test_an_estimate_that_is_only_sent_raises_nothing() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    revision = estimates.draft(job, person=a_staff(), at=now())
    estimates.add_line(revision, estimates.TypedLine("fee", "More", low_minor=90_000, high_minor=90_000))
    estimates.send(revision, person=a_staff(), at=now())
    some_work(job, 120)
    with pytest.raises(Refused, match="£80.00 is agreed"):
        some_work(job, 15)


def test_what_is_not_charged_needs_no_consent() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    some_work(job, 120)
    a_fit(job, "C2", not_charged="goodwill")
    some_work(job, 60, not_charged="my own slip")
    assert an_invoice(job).gross_minor == 8_000


def test_the_bill_itself_is_the_last_gate() -> None:
    """Whatever way a charge came into the log, no bill goes out above the agreed sum."""
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    worker = a_staff()
    values = {"worker": worker, "person": worker, "step": "repair", "worked_on": now().date(), "at": now()}
    LabourEntry.objects.create(job=job, minutes=240, charged_minutes=240, hour_rate_minor=4000, amount_minor=16_000, **values)
    with pytest.raises(Refused, match="The bill would come to £160.00, and £80.00 is agreed"):
        issue_invoice(job, person=worker, at=now())


def test_a_tax_raised_after_the_consent_does_not_raise_the_sum() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    some_work(job, 120)
    a_profile(labour_tax_bp=2000)
    with pytest.raises(Refused, match="The bill would come to £96.00, and £80.00 is agreed"):
        an_invoice(job)


def test_nothing_is_charged_before_anything_is_agreed() -> None:
    job = a_job("inspecting", with_fit=False)
    with pytest.raises(Refused, match="Nothing has been agreed yet"):
        some_work(job, 15)
    assert a_lot(a_part("220K 1W", kind="resistance"))
