"""Rule 7: a set is not handed over without a passed electrical safety check, or a signed "returned unsafe, disabled"."""

from decimal import Decimal

import pytest

from billing.release import Signature, hand_over, missing_for_hand_over, return_unsafe
from jobs.models import HandOver, Job
from jobs.services import log, stages
from jobs.services.proving import TakenReading
from shop.acts import Refused
from shop.clock import now
from tests.builders import a_job, a_safety_check, a_staff, an_invoice, author, pay, safe_readings

pytestmark = pytest.mark.django_db
SIGNED = Signature("Iwona Brzask")


def settled_job(stage: str = "ready") -> Job:
    job = a_job(stage)
    pay(an_invoice(job))
    job.refresh_from_db()
    return job


def fail_the_check(job: Job) -> None:
    practice = log.profile().safety_practice
    bad = [TakenReading(one.test, Decimal(99), one.polarity, one.switch) for one in safe_readings(practice)]
    a_safety_check(job, bad)


def test_a_proven_and_paid_set_goes() -> None:
    job = settled_job()
    assert missing_for_hand_over(job) == []
    done = hand_over(job, SIGNED, person=a_staff(), at=now())
    assert (job.stage, done.kind, done.received_by) == ("handed_over", "proven", "Iwona Brzask")
    assert "0.60 paid" in done.money


def test_without_a_check_it_stays() -> None:
    job = settled_job("proving")
    with pytest.raises(Refused) as refused:
        hand_over(job, SIGNED, person=a_staff(), at=now())
    assert refused.value.message == (
        "The set stays here until there is: the stage “Ready to collect”; a passed electrical safety check."
    )
    assert not HandOver.objects.exists()


def test_a_failed_check_after_a_passed_one_locks_it_in_again() -> None:
    job = settled_job()
    fail_the_check(job)
    assert missing_for_hand_over(job) == ["a passed electrical safety check (the last one failed)"]
    with pytest.raises(Refused):
        hand_over(job, SIGNED, person=a_staff(), at=now())


def test_a_change_of_the_circuit_voids_the_check() -> None:
    job = a_job("ready")
    log.record_wiring(job, "earth lug moved", author())
    pay(an_invoice(job))
    assert missing_for_hand_over(job) == ["a new electrical safety check, as the circuit was changed after the last one"]


def test_unpaid_it_stays() -> None:
    job = a_job("ready")
    invoice = an_invoice(job)
    job.refresh_from_db()
    assert missing_for_hand_over(job) == [f"payment of invoice {invoice.number}, or the owner's waiver"]


def test_the_other_door_needs_a_name_and_how_it_was_disabled() -> None:
    job = settled_job("proving")
    with pytest.raises(Refused, match="Say how the set was disabled"):
        return_unsafe(job, SIGNED, person=a_staff(), at=now())
    with pytest.raises(Refused, match="Write who received the set and signed for it."):
        return_unsafe(job, Signature(" ", "line cord cut off"), person=a_staff(), at=now())
    done = return_unsafe(job, Signature("Iwona Brzask", "line cord cut off"), person=a_staff(), at=now())
    assert (job.stage, done.kind, done.how_disabled) == ("returned", "unsafe", "line cord cut off")


def test_the_stage_alone_opens_no_door() -> None:
    """The act that closes a job can't be pressed on its own: it isn't among the buttons, and hand-over looks at safety itself."""
    assert "hand_over" not in stages.BY_BUTTON
    assert "return_unrepaired" not in stages.BY_BUTTON


def test_handed_over_once() -> None:
    job = settled_job()
    hand_over(job, SIGNED, person=a_staff(), at=now())
    with pytest.raises(Refused):
        hand_over(job, SIGNED, person=a_staff(), at=now())
    assert HandOver.objects.count() == 1
