"""Where no repair comes of it: fees as agreed at intake, parts out again, held ones let go; the minimum of any job."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.queries import bill_lines, totals_of
from jobs.models import Consent, Job, LabourEntry, Stage
from jobs.queries.collection import uncollected
from jobs.queries.declining import holds_of
from jobs.queries.exposure import exposure_of, standing_labour
from jobs.queries.fees import fees_of, largest_within
from jobs.queries.putting_back import back_in_stock_minor, back_steps, declined_at
from jobs.queries.sheet import sheet_of
from jobs.services import declining, estimates, log, stages
from jobs.services.consents import Answer, record_answer
from jobs.services.intake import Intake, JobFacts, take_in
from jobs.services.labour import withdraw_work
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile
from shop.money import as_money
from tests.builders import (
    a_customer,
    a_fit,
    a_job,
    a_lot,
    a_part,
    a_profile,
    a_set,
    a_staff,
    an_estimate,
    an_invoice,
    plan_part,
    position_of,
    some_work,
)
from tests.jobs.offers import fee, send
from tests.jobs.sent import sent_form
from tests.paper.papers import text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still_clock")]


def taken_in(inspection: int = 2_000, minimum: int = 3_000, declining_fee: int = 1_500, **terms: Any) -> Job:
    """Taken in with the fees agreed, by default 20.00 for inspection, at least 30.00, and 15.00 on declining; no tax."""
    a_profile(**terms)
    customer = a_customer()
    intake = Intake(
        JobFacts("It hums."),
        customer=customer,
        radio=a_set(customer),
        inspection_fee_minor=inspection,
        minimum_fee_minor=minimum,
        decline_fee_minor=declining_fee,
    )
    job = take_in(intake, person=a_staff(), at=now() - timedelta(days=2))
    stages.perform(job, "start_inspection", person=a_staff(), at=now())
    return job


def declined(job: Job, minutes: int = 30) -> Job:
    if minutes:
        some_work(job, minutes)
    sent = an_estimate(job)
    record_answer(sent, Answer(False, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    job.refresh_from_db()
    return job


def book(job: Job) -> list[LabourEntry]:
    return declining.book_fees(job, person=a_staff(), at=now())


def charged(job: Job) -> int:
    return sum(entry.billed_minor for entry in standing_labour(job))


# At the counter


def test_the_fees_are_agreed_to_at_intake_in_one_consent() -> None:
    job = taken_in()
    consent = Consent.objects.get(job=job)
    assert (job.minimum_fee_minor, job.decline_fee_minor, consent.ceiling_minor) == (3_000, 1_500, 4_500)
    assert consent.to_what == (
        "agreed at the counter: inspection up to £20.00; at least £30.00 for the bench, credited to the work; "
        "£15.00 more if the estimate is declined, £45.00 with tax"
    )


def test_the_fee_for_declining_cannot_be_worked_off_before() -> None:
    job = taken_in()
    assert exposure_of(job, Profile.objects.get()).ceiling_minor == 3_000
    some_work(job, 45)
    with pytest.raises(Refused, match="£30.00 is agreed"):
        some_work(job, 15)


def test_the_intake_page_tells_the_shops_usual_fees(counter_client: Client) -> None:
    a_profile(minimum_fee_minor=3_000, decline_fee_minor=1_500)
    form = sent_form(counter_client.get(reverse("jobs:intake")), "fault")
    assert (form["inspection_fee"], form["minimum_fee"], form["decline_fee"]) == ("25.00", "30.00", "15.00")


# Declined


def test_what_is_due_is_the_difference_to_the_minimum_and_the_fee_for_declining() -> None:
    job = declined(taken_in())
    minimum, decline = book(job)
    assert (minimum.amount_minor, decline.amount_minor, charged(job)) == (1_000, 1_500, 4_500)
    assert minimum.text == "Minimum bench fee: what is missing to £30.00, agreed at intake"
    with pytest.raises(Refused, match="Nothing more is due"):
        book(job)


def test_nothing_is_due_that_was_not_agreed() -> None:
    job = declined(taken_in(minimum=0, declining_fee=0), minutes=15)
    fees = fees_of(job, Profile.objects.get())
    assert (fees.any_due, fees.labour_minor) == (False, 1_000)
    with pytest.raises(Refused, match="Nothing more is due"):
        book(job)


def test_work_beyond_the_minimum_leaves_the_fee_for_declining_only() -> None:
    job = declined(taken_in(inspection=4_000), minutes=60)
    (entry,) = book(job)
    assert entry.amount_minor == 1_500
    assert charged(job) == 5_500


@pytest.mark.parametrize(("tax_bp", "whole"), [(0, False), (2000, False), (1900, False), (2000, True), (825, False)])
def test_with_tax_it_is_never_more_than_was_agreed_and_no_less_than_a_unit_below(tax_bp: int, whole: bool) -> None:
    """Rates as three places have them (United Kingdom, Germany, Texas; from memory): it holds whatever the rate is."""
    job = declined(taken_in(labour_tax_bp=tax_bp, parts_tax_bp=tax_bp, prices_include_tax=whole), minutes=15)
    book(job)
    terms = Profile.objects.get()
    gross = totals_of(bill_lines(job, terms), terms).gross_minor
    assert 4_499 <= gross <= 4_500
    assert an_invoice(job).gross_minor == gross


def test_fees_are_not_booked_while_the_job_goes_on() -> None:
    with pytest.raises(Refused, match="due once the estimate was declined"):
        book(taken_in())


def test_agreeing_owes_no_fee_for_declining() -> None:
    job = taken_in()
    record_answer(an_estimate(job), Answer(True, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    job.refresh_from_db()
    assert not fees_of(job, Profile.objects.get()).decline.is_due


# The minimum bench fee of any job


def test_the_minimum_is_the_difference_and_gives_way_to_later_work() -> None:
    """At 40.00 an hour: a quarter is 10.00; 20.00 missing to 30.00; another half leaves nothing of the top-up."""
    job = taken_in()
    some_work(job, 15)
    declining.book_minimum(job, person=a_staff(), at=now())
    assert charged(job) == 3_000
    some_work(job, 15)
    assert charged(job) == 3_000
    some_work(job, 15)
    assert charged(job) == 3_000
    assert not any(entry.text.startswith("Minimum") for entry in standing_labour(job))


def test_work_taken_back_lets_the_minimum_be_topped_up_again() -> None:
    job = taken_in()
    entry = some_work(job, 15)
    declining.book_minimum(job, person=a_staff(), at=now())
    with pytest.raises(Refused, match="reaches the minimum"):
        declining.book_minimum(job, person=a_staff(), at=now())
    withdraw_work(entry, person=a_staff(), at=now(), why="another set")
    assert charged(job) == 2_000
    declining.book_minimum(job, person=a_staff(), at=now())
    assert charged(job) == 3_000


def test_a_minimum_that_was_not_agreed_is_refused() -> None:
    with pytest.raises(Refused, match="No minimum bench fee was agreed"):
        declining.book_minimum(taken_in(minimum=0), person=a_staff(), at=now())


def test_the_largest_sum_within_another_is_found() -> None:
    """5/6 of a sum at 20 %: 100.00 holds 83.33; 83.34 would come to 100.01 (16.668 rounds to 16.67)."""
    a_profile(labour_tax_bp=2000)
    assert largest_within(Profile.objects.get(), [], 10_000) == 8_333
    assert largest_within(Profile.objects.get(), [10_000], 10_000) == 0


def test_the_labour_page_explains_and_adds_it(counter_client: Client, stranger_client: Client) -> None:
    job = taken_in()
    page, address = reverse("jobs:labour", args=[job.pk]), reverse("jobs:book_minimum", args=[job.pk])
    assert "£30.00 was agreed at intake, credited to the work" in counter_client.get(page).content.decode()
    assert stranger_client.post(address).headers["Location"].startswith(reverse("login"))
    form = {"once": str(uuid.uuid4())}
    for _ in range(2):
        assert counter_client.post(address, form).status_code == 302
    assert charged(job) == 3_000
    assert "Nothing is missing to it: £30.00 was added" in counter_client.get(page).content.decode()


# Put back


def stopped() -> Job:
    """Agreed to and worked on; the revision is declined and the customer wants no more."""
    job = a_job("repairing")
    plan_part(job, "C1")
    a_fit(job, "C2")
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.add_line(draft, fee("More than foreseen", 9_000))
    record_answer(send(draft), Answer(False, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    job.refresh_from_db()
    return job


def test_a_set_on_the_bench_is_put_back_only_after_a_no() -> None:
    job = a_job("repairing")
    with pytest.raises(Refused, match="a version that the customer declined"):
        stages.perform(job, "put_back", person=a_staff(), at=now())
    assert "put_back" not in [one.act.code for one in stages.next_acts(job)]
    job = stopped()
    assert "put_back" in [one.act.code for one in stages.next_acts(job)]
    act = stages.perform(job, "put_back", person=a_staff(), at=now())
    assert job.stage == Stage.DECLINED
    stages.undo(job, act, person=a_staff(), at=now())
    assert job.stage == Stage.REPAIRING


def test_fitted_parts_go_back_to_stock_at_their_cost_and_held_ones_are_let_go() -> None:
    job = stopped()
    stages.perform(job, "put_back", person=a_staff(), at=now())
    fitted = log.take_out(job.entries.get(kind="fitted"), "declined", log.Author(a_staff(), now()), scrap=False)  # type: ignore[attr-defined]
    assert fitted.takes_out is not None
    assert fitted.movement.lot_id == fitted.takes_out.lot_id
    assert fitted.movement.lot.unit_cost_milli == 20_000
    assert len(holds_of(job)) == 1
    declining.let_go(job, at=now())
    assert holds_of(job) == []
    with pytest.raises(Stale):
        declining.let_go(job, at=now())


def test_parts_of_a_job_that_goes_on_stay_held() -> None:
    job = a_job("agreed")
    with pytest.raises(Refused, match="isn't declined"):
        declining.let_go(job, at=now())


def test_the_page_says_what_is_due_and_what_goes_back(counter_client: Client, colleague_client: Client) -> None:
    job = stopped()
    stages.perform(job, "put_back", person=a_staff(), at=now())
    address = reverse("jobs:declined", args=[job.pk])
    page = colleague_client.get(address).content.decode()
    for words in ("Nothing more is due.", "Let go of the held parts", "not agreed", "in a bag with the job’s number", "C2</a>"):
        assert words in page
    form = {"once": str(uuid.uuid4())}
    for _ in range(2):
        assert counter_client.post(reverse("jobs:let_go", args=[job.pk]), form).status_code == 302
    assert counter_client.post(reverse("jobs:book_fees", args=[job.pk]), {"once": str(uuid.uuid4())}).status_code == 409
    assert "Nothing is held for it." in counter_client.get(address).content.decode()


def test_the_page_books_what_is_due_once(counter_client: Client) -> None:
    job = declined(taken_in())
    address = reverse("jobs:declined", args=[job.pk])
    page = counter_client.get(address).content.decode()
    assert "£10.00 with tax, missing to the minimum bench fee" in page
    assert "£15.00 with tax, the fee for declining" in page
    form = {"once": str(uuid.uuid4())}
    for _ in range(2):
        assert counter_client.post(reverse("jobs:book_fees", args=[job.pk]), form).status_code == 302
    assert charged(job) == 4_500
    assert "Nothing more is due." in counter_client.get(address).content.decode()


@pytest.mark.parametrize("name", ["declined", "book_fees", "let_go", "book_minimum"])
def test_a_stranger_sees_and_does_nothing(stranger_client: Client, name: str) -> None:
    job = a_job("declined")
    address = reverse(f"jobs:{name}", args=[job.pk])
    answer = stranger_client.get(address) if name == "declined" else stranger_client.post(address)
    assert answer.headers["Location"].startswith(reverse("login"))


def test_a_page_of_a_job_that_goes_on_says_that_nothing_is_due(colleague_client: Client) -> None:
    page = colleague_client.get(reverse("jobs:declined", args=[a_job("repairing").pk])).content.decode()
    assert "Nothing here is due yet" in page
    assert "Put what is due into the labour" not in page


# The way back


def test_the_way_back_is_what_was_done_in_reverse(colleague_client: Client) -> None:
    """Fitted first C2, then bridged, then C1: out comes C1 first. What is leaky at the line doesn't go back."""
    job = a_job("repairing")
    owner, when = a_staff(), now()
    log.record_found(position_of(job, "C1"), ".0047 paper", log.Author(owner, when))
    log.record_measured(position_of(job, "C1"), "leaks 0.5 mA at 250 V", log.Author(owner, when))
    first = a_fit(job, "C2")
    log.record_wiring(job, "the tone switch is bridged", log.Author(owner, when))
    lot = a_lot(a_part(".0047 µF 250 V Y2"))
    a_fit(job, "C1", lot=lot)
    steps = back_steps(sheet_of(job), None, "GBP")
    assert [(one.kind, one.place) for one in steps] == [("take_out", "C1"), ("wiring", ""), ("take_out", "C2")]
    assert steps[0].unsafe
    assert "not safe. Leave it out, disable the set, and tell the owner" in steps[0].advice
    assert (steps[0].before, steps[2].before) == ("Found: .0047 paper", "Called for: .01 400 V")
    assert (steps[2].cost, steps[2].goes_to) == (as_money(20, "GBP"), f"A / 1, lot {first.lot_id}")


def test_the_log_ticks_what_was_taken_out_and_the_stock_gets_its_cost_back(
    colleague_client: Client, counter_client: Client
) -> None:
    job = stopped()
    stages.perform(job, "put_back", person=a_staff(), at=now())
    address = reverse("jobs:declined", args=[job.pk])
    page = colleague_client.get(address).content.decode()
    assert "the parts out again that were fitted at C2, or a bill for them" in page
    assert colleague_client.post(reverse("jobs:is_back", args=[job.pk]), {"once": str(uuid.uuid4())}).status_code == 409
    log.take_out(job.entries.get(kind="fitted"), "declined", log.Author(a_staff(), now()), scrap=False)
    declining.let_go(job, at=now())
    (step,) = [one for one in back_steps(sheet_of(job), declined_at(job), "GBP") if one.kind == "take_out"]
    assert step.done == "out, and back in its drawer"
    assert back_in_stock_minor(sheet_of(job)) == 20
    assert uncollected().filter(pk=job.pk).first() is None
    form = {"once": str(uuid.uuid4())}
    for _ in range(2):
        assert colleague_client.post(reverse("jobs:is_back", args=[job.pk]), form).status_code == 302
    job.refresh_from_db()
    assert (job.stage, job.waits_for, job.waits_note) == (Stage.DECLINED, "person", "collection")
    assert uncollected().get(pk=job.pk).acts.filter(act="is_back").count() == 1
    assert job.number in counter_client.get(reverse("billing:uncollected")).content.decode()
    assert "Back as it came" in colleague_client.get(address).content.decode()
    stages.undo(job, job.acts.get(act="is_back"), person=a_staff(), at=now())
    assert uncollected().filter(pk=job.pk).first() is None


def test_the_papers_say_what_was_found_what_is_due_and_that_it_is_not_proven(colleague_client: Client) -> None:
    job = declined(taken_in())
    log.record_measured(position_of(job, "R1"), "400K", log.Author(a_staff(), now()))
    book(job)
    paper = text_of(colleague_client.get(reverse("jobs:closing_pdf", args=[job.pk])).content)
    for text in ("goes back unrepaired", "R1", "drifted", "£15.00", "£10.00", "NOT PROVEN SAFE", "in a bag"):
        assert text in paper
    work = text_of(colleague_client.get(reverse("jobs:put_back_pdf", args=[job.pk])).content)
    assert "Nothing was changed: there is nothing to take back." in work


def test_strangers_get_no_paper_and_the_counter_puts_nothing_back(stranger_client: Client, counter_client: Client) -> None:
    job = a_job("declined")
    for name in ("put_back_pdf", "closing_pdf"):
        assert stranger_client.get(reverse(f"jobs:{name}", args=[job.pk])).status_code == 302
    assert counter_client.post(reverse("jobs:is_back", args=[job.pk]), {"once": str(uuid.uuid4())}).status_code == 403
