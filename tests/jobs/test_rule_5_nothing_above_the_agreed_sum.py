"""Rule 5 at the bench: nothing above the sum agreed to, plus the shop's written allowance, is charged without a newer consent."""

import pytest

from jobs.models import Job, Stage
from jobs.models.estimate import ConsentHow, EstimateLineKind
from jobs.queries.exposure import exposure_of
from jobs.services import estimates, log
from jobs.services.consents import Answer, record_answer
from jobs.services.labour import Work, log_work
from shop.acts import Refused
from shop.clock import now, today
from tests.builders import a_fit, a_job, a_lot, a_profile, a_staff, some_work
from tests.jobs.at_bench import a_resistor

pytestmark = pytest.mark.django_db


def agreed(labour_minor: int, allowance_bp: int = 0) -> Job:
    a_profile(allowance_bp=allowance_bp, minute_step=1)
    return a_job(Stage.REPAIRING, labour_minor=labour_minor, with_fit=False)


def spent(job: Job) -> int:
    return exposure_of(job, log.profile()).spent_minor


def test_up_to_the_last_penny_is_allowed_and_the_next_is_not() -> None:
    job = agreed(4000)
    some_work(job, 60)
    assert spent(job) == 4000
    with pytest.raises(Refused, match="£40.00 is agreed"):
        some_work(job, 1)
    with pytest.raises(Refused, match="£40.00 is agreed"):
        a_fit(job, "R1", a_lot(a_resistor(1)))
    assert spent(job) == 4000


def test_the_written_allowance_counts_and_no_more() -> None:
    job = agreed(4000, allowance_bp=1000)
    a_fit(job, "R1", a_lot(a_resistor(400)))
    some_work(job, 60)
    assert spent(job) == 4400
    with pytest.raises(Refused):
        some_work(job, 1)


def test_without_any_consent_nothing_is_charged() -> None:
    a_profile()
    job = a_job(Stage.INSPECTING, with_fit=False)
    with pytest.raises(Refused, match="Nothing has been agreed yet"):
        some_work(job, 15)
    assert some_work(job, 15, not_charged="looked inside").billed_minor == 0


def test_a_newer_consent_lifts_the_ceiling() -> None:
    job = agreed(4000)
    some_work(job, 60)
    who = a_staff()
    draft = estimates.draft(job, person=who, at=now())
    typed = estimates.TypedLine(EstimateLineKind.FEE, "More than foreseen", low_minor=2000, high_minor=2000)
    estimates.add_line(draft, typed)
    sent = estimates.send(draft, person=who, at=now())
    with pytest.raises(Refused):
        some_work(job, 15)
    record_answer(sent, Answer(True, ConsentHow.IN_PERSON, "Iwona Brzask", person=who), at=now())
    some_work(job, 15)
    assert spent(job) == 5000


def test_a_correction_upwards_is_guarded_as_well() -> None:
    job = agreed(4000)
    first = some_work(job, 60)
    with pytest.raises(Refused):
        log_work(job, Work(first.worker, "repair", today(), 90), person=first.worker, at=now(), corrects=first)
    log_work(job, Work(first.worker, "repair", today(), 30), person=first.worker, at=now(), corrects=first)
    assert spent(job) == 2000


def test_tax_counts_towards_the_agreed_sum_as_the_customer_pays_it() -> None:
    a_profile(minute_step=1, labour_tax_bp=2000)
    job = a_job(Stage.REPAIRING, labour_minor=4000, with_fit=False)
    assert exposure_of(job, log.profile()).consented_minor == 4800
    some_work(job, 60)
    assert spent(job) == 4800
