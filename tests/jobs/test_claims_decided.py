"""A claim is opened, found on, decided; the decision keeps what it was judged by."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest

from inventory.models import Part
from jobs import verification
from jobs.models import CalledFor, Claim, ClaimFinding, Stage, Warranty, WarrantyTransfer
from jobs.queries.claims import judged
from jobs.services import log
from jobs.services.claim_decisions import Decided, decide
from jobs.services.claims import FindingFacts as Facts
from jobs.services.claims import add_finding, drop_claim, open_claim, withdraw_finding
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import MarkupStep, Profile
from tests import builders as make
from tests.jobs.claims import a_claim, a_covered_claim, a_repaired_set, decided, found, line_at, one_claim_kept

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def kept(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    with one_claim_kept(django_db_blocker):
        yield


def refusal(work: object, *args: object, **kwargs: object) -> str:
    with pytest.raises(Refused) as caught:
        work(*args, **kwargs)  # type: ignore[operator]
    return caught.value.message


def test_a_set_taken_in_under_a_warranty_is_a_claim_from_that_day() -> None:
    claim = a_claim()
    assert claim.warranty.job == claim.job.warranty_of
    assert claim.claimed_on == today()


def test_a_warranty_that_ran_out_is_judged_all_the_same() -> None:
    earlier = a_repaired_set(days_ago=200)
    job = make.a_job(radio=earlier.radio)
    claim = open_claim(job, earlier, claimed_on=today(), person=make.a_staff(), at=now())
    found(claim)
    proposal = judged(claim, now()).proposal
    assert (proposal.answer, "date_over" in [one.code for one in proposal.reasons]) == ("chargeable", True)


def test_only_a_warranty_of_the_same_set_can_be_claimed_under() -> None:
    other, job = a_repaired_set(), make.a_job(customer=make.a_customer("Bohumil Trnka"))
    args = {"claimed_on": today(), "person": make.a_staff(), "at": now()}
    assert refusal(open_claim, job, other, **args) == "That warranty is of another set. Choose one of this set's earlier jobs."
    assert refusal(open_claim, job, job, **args) == f"Job {job.number} has no warranty, so nothing can be claimed under it."


def test_it_is_no_claim_after_all_while_nothing_was_found() -> None:
    claim = a_claim()
    written = found(claim)
    assert refusal(drop_claim, claim) == "Something was found on this claim already. Take the findings back first."
    withdraw_finding(written, person=make.a_staff(), at=now())
    drop_claim(claim)
    claim.job.refresh_from_db()
    assert claim.job.warranty_of is None
    again = open_claim(claim.job, claim.warranty.job, claimed_on=today(), person=make.a_staff(), at=now())
    assert Claim.objects.get() == again


def test_a_finding_at_a_position_is_about_the_one_line_there_and_the_other_way_round() -> None:
    claim = a_claim()
    assert found(claim).line == line_at(claim)
    named = add_finding(claim, Facts("leaks", line=line_at(claim)), person=make.a_staff(), at=now())
    assert named.position == make.position_of(claim.job, "C2")


def test_a_corrected_finding_counts_once_and_one_taken_back_not_at_all() -> None:
    claim = a_claim()
    first = found(claim, same_fault="unsure")
    assert judged(claim, now()).proposal.is_open
    second = add_finding(
        claim,
        Facts("C2 is open", "yes", "part", position=make.position_of(claim.job)),
        person=make.a_staff(),
        at=now(),
        corrects=first,
    )
    assert judged(claim, now()).proposal.answer == "covered"
    with pytest.raises(Stale, match="This finding was corrected or taken back already. Load the page again."):
        withdraw_finding(first, person=make.a_staff(), at=now())
    withdraw_finding(second, person=make.a_staff(), at=now())
    assert judged(claim, now()).findings == []
    assert ClaimFinding.objects.count() == 3


def test_findings_belong_to_this_claim() -> None:
    claim, person = a_claim(), make.a_staff()
    foreign = make.position_of(claim.warranty.job)
    assert refusal(add_finding, claim, Facts("x", position=foreign), person=person, at=now()).startswith("That position is of")
    assert refusal(add_finding, claim, Facts("x", cause="moon"), person=person, at=now()) == "Choose the cause from the list."
    assert refusal(add_finding, claim, Facts(" "), person=person, at=now()) == "Say what was found."
    wrong = Facts("x", void_rule="It looked at us.")
    assert refusal(add_finding, claim, wrong, person=person, at=now()) == (
        "Choose one of the rules that the warranty itself names."
    )


def test_an_entry_that_was_taken_back_leaves_its_finding_open() -> None:
    claim = a_claim()
    entry = make.a_measurement(claim.job, "C2", "open")
    found(claim, entry=entry)
    assert judged(claim, now()).proposal.answer == "covered"
    log.withdraw(entry, make.author())
    claim.job.refresh_from_db()
    proposal = judged(claim, now()).proposal
    assert [one.code for one in proposal.reasons if one.level == "open"] == ["entry_struck"]


def test_what_is_decided_otherwise_than_proposed_says_why() -> None:
    claim = a_claim()
    found(claim)
    assert refusal(decided, claim, "chargeable") == "Proposed was “covered”. Say why it is decided otherwise."
    assert (
        refusal(decided, claim, "covered", goodwill=True) == "By the log this is owed, so it isn't goodwill. Take the tick out."
    )
    assert decided(claim, "chargeable", why="the owner wants to pay").decided == "chargeable"


def test_what_is_open_is_inspected_first_or_decided_with_a_reason() -> None:
    claim = a_claim()
    said = "Something is still open above. Inspect first, or say why it is decided already."
    assert refusal(decided, claim, "chargeable") == said
    assert refusal(decided, claim, "covered", why="x") == ("Write down first what was found: a claim is covered place by place.")
    found(claim, same_fault="unsure")
    assert refusal(decided, claim, "chargeable") == said
    assert decided(claim, "covered", goodwill=True, why="an old customer").goodwill


def test_goodwill_bears_what_is_not_owed_and_says_why() -> None:
    claim = a_claim()
    found(claim, cause="use")
    assert refusal(decided, claim, "covered", goodwill=True) == "Say why the shop bears what it doesn't owe."
    made = decided(claim, "partly", goodwill=True, why="half for an old customer", shares={make.position_of(claim.job).pk: 50})
    place = made.covered_places.get()
    number = claim.warranty.job.number
    assert (place.share_percent, place.reason) == (50, f"goodwill beyond the warranty of job {number}")
    assert refusal(decided, claim, "chargeable", goodwill=True, why="x").startswith("Goodwill bears something")


def test_partly_covered_names_a_place_and_a_share() -> None:
    claim = a_claim()
    found(claim)
    said = "Partly covered: say at which place, or how much of the work, the shop bears."
    assert refusal(decided, claim, "partly", why="x") == said
    assert refusal(decided, claim, "partly", why="x", shares={None: 101}) == "A share lies between 0 and 100 %."


def test_whoever_decides_has_seen_all_findings() -> None:
    claim = a_claim()
    seen = claim.version
    found(claim)
    with pytest.raises(Stale, match="Somebody else wrote on this claim since you opened it"):
        decide(claim, Decided("covered"), person=make.a_staff(), at=now(), seen=seen)


def test_the_newest_decision_counts_and_older_ones_stay() -> None:
    claim = a_covered_claim()
    decided(claim, "chargeable", why="it had been opened")
    assert [one.decided for one in claim.decisions.all()] == ["covered", "chargeable"]
    settled = "This claim was decided. A new decision can still change that."
    assert refusal(drop_claim, claim) == settled
    again = {"claimed_on": today(), "person": make.a_staff(), "at": now()}
    assert refusal(open_claim, claim.job, claim.warranty.job, **again) == settled


def test_a_warranty_that_did_not_go_along_is_not_the_new_owners() -> None:
    earlier = a_repaired_set()
    buyer, warranty = make.a_customer("Bohumil Trnka"), Warranty.objects.get(job=earlier)
    moved = {"warranty": warranty, "from_customer": earlier.customer, "to_customer": buyer, "person": make.a_staff()}
    WarrantyTransfer.objects.create(**moved, moved_on=today(), goes_along=False, at=now())
    earlier.radio.customer = buyer
    earlier.radio.save()
    claim = a_claim(earlier, customer=buyer)
    found(claim)
    assert judged(claim, now()).proposal.answer == "chargeable"
    WarrantyTransfer.objects.create(**moved, moved_on=today(), goes_along=True, at=now())
    assert judged(claim, now()).proposal.answer == "covered"


def test_a_verdict_stays_what_it_was_whatever_the_shop_changes_afterwards() -> None:
    claim = a_claim()
    found(claim, entry=make.a_measurement(claim.job, "C2", "open"))
    made = decided(claim)
    Profile.objects.update(warranty_days=1, labour_warranty_days=1, warranty_void="Anything", hour_rate_minor=9_900)
    Part.objects.update(marking="10 µF", list_price_minor=99_00, description="another card")
    MarkupStep.objects.update(factor_percent=900)
    CalledFor.objects.update(called="100 µF")
    found(claim, "R1", same_fault="no", cause="age")
    log.record_measured(make.position_of(claim.job), "0.01 µF", make.author())
    assert verification.claim_decisions().differences == ()
    assert claim.decisions.get().proposal == made.proposal


def test_verify_finds_a_verdict_that_its_rows_do_not_give() -> None:
    claim = a_covered_claim()
    made = claim.decisions.get()
    Warranty.objects.filter(pk=claim.warranty_id).update(starts_on=claim.warranty.starts_on - timedelta(days=1))
    assert verification.claim_decisions().differences == (
        f"case of the decision of {made.at:%Y-%m-%d %H:%M} on {claim.job.number}: kept otherwise than its rows give it",
    )
    assert claim.job.stage == Stage.TAKEN_IN
