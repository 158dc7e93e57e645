"""Alternatives: nested sums, exactly one agreed to, nothing beyond it to come or to be fitted."""

import io
import uuid
from fractions import Fraction
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from jobs.models import Alternative, Consent, Estimate, EstimateLine, Job, PositionTier
from jobs.queries.alternatives import SUGGESTED, lines_in
from jobs.queries.estimates import drift_of, estimate_totals
from jobs.queries.exposure import exposure_of
from jobs.queries.sheet import position_state
from jobs.services import estimates, log, stages
from jobs.services.consents import Answer, record_answer
from jobs.services.estimates import TypedLine, fingerprint
from jobs.verification import consents as looked_consents
from jobs.verification import estimates as looked_estimates
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile
from tests.builders import a_fit, a_job, a_profile, a_staff, author, plan_part, position_of, some_work
from tests.jobs.offers import CABINET, RECAP, REPAIR, agree, fee, offering, planned_line, put, send
from tests.jobs.sent import sent_form

pytestmark = pytest.mark.django_db
PART = 60


def highs(estimate: Estimate) -> list[int]:
    return [one.high_minor for one in Alternative.objects.filter(estimate=estimate)]


def once() -> str:
    return str(uuid.uuid4())


# Sums


def test_each_alternative_holds_all_that_the_smaller_ones_hold() -> None:
    draft = offering(a_job("inspecting"))
    small = PART + REPAIR
    assert highs(draft) == [small, small + RECAP, small + RECAP + CABINET + 3_000]
    assert [one.low_minor for one in draft.alternatives.all()] == [small, small + RECAP, small + RECAP + CABINET]  # type: ignore[attr-defined]


def test_the_versions_own_range_is_that_of_its_largest_alternative() -> None:
    draft = offering(a_job("inspecting"))
    largest = draft.alternatives.get(tier=3)  # type: ignore[attr-defined]
    assert (draft.low_minor, draft.high_minor) == (largest.low_minor, largest.high_minor)


def test_a_planned_part_stands_in_the_alternative_its_position_was_put_into_and_keeps_it_through_redrawing() -> None:
    draft = offering(a_job("inspecting"), planned_in=2)
    estimates.redraw(draft)
    assert planned_line(draft, "R1").tier == 2
    assert highs(draft)[1] - highs(draft)[0] == RECAP + PART


def test_what_is_fitted_is_in_every_alternative() -> None:
    job = a_job("repairing", labour_minor=50_000)
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.offer(draft)
    put(draft, planned_line(draft, "C2"), 3)
    assert planned_line(draft, "C2").tier == 3
    a_fit(job)
    assert [change.text for change in drift_of(draft, Profile.objects.get()).changes]
    estimates.redraw(draft)
    line = planned_line(draft, "C2")
    assert line.tier == 0
    with pytest.raises(Refused, match="in every alternative"):
        put(draft, line, 2)


def test_a_typed_part_hands_its_alternative_on_to_the_part_that_is_planned() -> None:
    job = a_job("inspecting", with_fit=False)
    draft = offering(job)
    typed = TypedLine("part", "to be bought", low_minor=900, high_minor=900, position=position_of(job, "R1"))
    put(draft, estimates.add_line(draft, typed), 3)
    plan_part(job, "R1")
    estimates.redraw(draft)
    assert planned_line(draft, "R1").tier == 3


LINES = st.lists(st.tuples(st.integers(0, 90_000), st.integers(0, 9_000), st.integers(0, 3)), min_size=1, max_size=12)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=LINES, tax_bp=st.sampled_from([0, 700, 1900, 2000]), whole=st.booleans())
def test_sums_are_those_of_the_lines_and_never_fall(lines: list[tuple[int, int, int]], tax_bp: int, whole: bool) -> None:
    """Against rational arithmetic: net exactly the sum of the lines held, tax of one rate rounded once, halves upwards."""
    estimate = Estimate(currency="GBP", prices_include_tax=whole)
    made = [_line(low, low + more, tier, tax_bp) for low, more, tier in lines]
    before = (0, 0)
    for tier in (1, 2, 3):
        low, high = estimate_totals(estimate, lines_in(made, tier))
        for end, got in (("low_minor", low), ("high_minor", high)):
            total = sum(getattr(line, end) for line in made if line.tier <= tier)
            expected = total if whole else total + int(Fraction(total * tax_bp, 10_000) + Fraction(1, 2))
            assert got.gross_minor == expected
        assert low.gross_minor >= before[0]
        assert high.gross_minor >= before[1]
        before = low.gross_minor, high.gross_minor


def _line(low: int, high: int, tier: int, tax_bp: int) -> EstimateLine:
    return EstimateLine(kind="fee", text="x", low_minor=low, high_minor=high, tier=tier, tax_bp=tax_bp)


# Editing


def test_three_are_suggested_once_and_can_be_renamed() -> None:
    draft = estimates.draft(a_job("inspecting"), person=a_staff(), at=now())
    estimates.offer(draft)
    assert [(one.name, one.text) for one in draft.alternatives.all()] == list(SUGGESTED)  # type: ignore[attr-defined]
    with pytest.raises(Stale):
        estimates.offer(draft)
    first = draft.alternatives.get(tier=1)  # type: ignore[attr-defined]
    estimates.change_alternative(first, "Make it play", "Nothing more.")
    with pytest.raises(Refused, match="called “recommended” already"):
        estimates.change_alternative(first, "recommended", "")
    with pytest.raises(Refused, match="at most 3"):
        estimates.add_alternative(draft, "A fourth", "")


@pytest.mark.parametrize(("gone", "tiers"), [(1, [1, 1, 2]), (2, [0, 2, 2]), (3, [0, 2, 2])])
def test_lines_of_one_taken_away_go_to_the_next(gone: int, tiers: list[int]) -> None:
    draft = offering(a_job("inspecting", with_fit=False))
    estimates.remove_alternative(draft.alternatives.get(tier=gone))  # type: ignore[attr-defined]
    found = [line.tier for line in draft.lines.order_by("pk")]  # type: ignore[attr-defined]
    assert [max(tier, 1) for tier in found] == [max(tier, 1) for tier in tiers]
    assert [one.tier for one in draft.alternatives.all()] == [1, 2]  # type: ignore[attr-defined]
    assert draft.lines.count() == 3  # type: ignore[attr-defined]


def test_with_the_last_one_gone_the_estimate_is_answered_as_a_whole() -> None:
    draft = offering(a_job("inspecting"), planned_in=2)
    whole = draft.high_minor
    for _ in range(3):
        estimates.remove_alternative(draft.alternatives.first())  # type: ignore[attr-defined]
    draft.refresh_from_db()
    assert (draft.high_minor, PositionTier.objects.exists()) == (whole, False)
    assert {line.tier for line in draft.lines.all()} == {0}  # type: ignore[attr-defined]


def test_they_are_carried_over_to_the_next_version() -> None:
    job = a_job("inspecting")
    first = send(offering(job, planned_in=2))
    second = estimates.draft(job, person=a_staff(), at=now())
    assert highs(second) == highs(first)
    assert [one.name for one in second.alternatives.all()] == [name for name, _ in SUGGESTED]  # type: ignore[attr-defined]


def test_only_a_real_choice_is_sent() -> None:
    draft = offering(a_job("inspecting"))
    put(draft, draft.lines.get(text="Cabinet"), 2)  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="“Full restoration” holds nothing that the smaller one doesn't"):
        send(draft)
    estimates.remove_alternative(draft.alternatives.get(tier=3))  # type: ignore[attr-defined]
    estimates.remove_alternative(draft.alternatives.get(tier=2))  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="alone is no choice"):
        send(draft)


def test_the_smallest_alternative_has_to_hold_the_work_done() -> None:
    job = a_job("repairing", labour_minor=20_000)
    some_work(job, 180)
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.offer(draft)
    estimates.remove_alternative(draft.alternatives.get(tier=3))  # type: ignore[attr-defined]
    put(draft, draft.lines.get(text="Work as foreseen"), 2)  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="the lines of “Repair only” hold"):
        send(draft)


def test_a_sent_version_takes_no_other_choice() -> None:
    sent = send(offering(a_job("inspecting")))
    one = sent.alternatives.first()  # type: ignore[attr-defined]
    acts: list[Any] = [
        lambda: estimates.change_alternative(one, "Other", ""),
        lambda: estimates.remove_alternative(one),
        lambda: estimates.place(sent, {}),
        lambda: estimates.offer(sent),
    ]
    for act in acts:
        with pytest.raises(Stale, match="frozen"):
            act()


# The fingerprint


def changes(draft: Estimate) -> dict[str, Any]:
    one = draft.alternatives.get(tier=2)  # type: ignore[attr-defined]
    cabinet = draft.lines.get(text="Cabinet")  # type: ignore[attr-defined]
    note = log.record_note(draft.job, "the dial cord is gone", author(), position=position_of(draft.job, "C1"))
    return {
        "name": lambda: estimates.change_alternative(one, "Advised", one.text),
        "text": lambda: estimates.change_alternative(one, one.name, "Something else."),
        "line": lambda: put(draft, cabinet, 2),
        "position": lambda: put(draft, planned_line(draft, "R1"), 3),
        "fewer": lambda: estimates.remove_alternative(draft.alternatives.get(tier=3)),  # type: ignore[attr-defined]
        "finding": lambda: estimates.add_finding(draft, note),
        "reason": lambda: estimates.set_because(draft, "The cord is gone."),
    }


@pytest.mark.parametrize("what", ["name", "text", "line", "position", "fewer", "finding", "reason"])
def test_every_change_of_the_choice_or_its_reason_changes_the_fingerprint(what: str) -> None:
    draft = offering(a_job("inspecting"), planned_in=2)
    act = changes(draft)[what]
    before = fingerprint(Estimate.objects.get(pk=draft.pk))
    act()
    assert fingerprint(Estimate.objects.get(pk=draft.pk)) != before


def test_verification_finds_them_as_they_were_sent() -> None:
    job = a_job("inspecting")
    sent = send(offering(job, planned_in=2))
    agree(job, 2, sent)
    assert (looked_estimates().differences, looked_consents().differences) == ((), ())
    Alternative.objects.filter(estimate=sent, tier=2).update(high_minor=1_000_000)
    assert looked_estimates().differences
    assert looked_consents().differences


# The answer


def test_what_is_agreed_to_is_one_alternative_and_its_high_end() -> None:
    a_profile(allowance_bp=1000)
    job = a_job("inspecting")
    sent = send(offering(job))
    agree(job, 2, sent)
    consent = Consent.objects.get(estimate=sent)
    assert (consent.tier, consent.ceiling_minor) == (2, PART + REPAIR + RECAP)
    assert "“Recommended”, £130.60 with tax" in consent.to_what


@pytest.mark.parametrize("tier", [0, 4])
def test_without_a_choice_nothing_is_agreed_to(tier: int) -> None:
    job = a_job("inspecting")
    sent = send(offering(job))
    with pytest.raises(Refused, match="Choose which of the alternatives is agreed to"):
        agree(job, tier, sent)
    assert not Consent.objects.filter(estimate=sent).exists()


def test_a_whole_estimate_takes_no_alternative() -> None:
    job = a_job("awaiting_consent")
    with pytest.raises(Stale, match="offers no alternatives"):
        agree(job, 1, job.estimates.get())  # type: ignore[attr-defined]


def test_declining_needs_no_choice() -> None:
    job = a_job("inspecting")
    sent = send(offering(job))
    record_answer(sent, Answer(False, "in_person", "Iwona Brzask", person=a_staff()), at=now())
    assert Consent.objects.get(estimate=sent).tier == 0


# Rule 5 with alternatives


def agreed_job(tier: int, planned_in: int = 3) -> Job:
    job = a_job("inspecting")
    agree(job, tier, send(offering(job, planned_in=planned_in)))
    stages.perform(job, "start_repair", person=a_staff(), at=now())
    return job


@pytest.mark.parametrize(("tier", "work"), [(1, REPAIR), (2, REPAIR + RECAP), (3, REPAIR + RECAP + CABINET + 3_000)])
def test_only_what_is_in_the_agreed_one_is_still_to_come(tier: int, work: int) -> None:
    job = agreed_job(tier)
    exposure = exposure_of(job, Profile.objects.get())
    parts = PART * (2 if tier == 3 else 1)
    assert exposure.to_come_minor == work + parts
    assert exposure.consented_minor == work + parts
    assert not exposure.will_overrun
    assert {position_of(job, "R1").pk} & exposure.beyond == ({position_of(job, "R1").pk} if tier < 3 else set())


def test_a_part_of_a_larger_alternative_is_not_fitted_even_below_the_ceiling() -> None:
    job = agreed_job(1)
    with pytest.raises(Refused) as refused:
        a_fit(job, "R1")
    assert refused.value.code == "over_ceiling"
    assert refused.value.message.startswith("R1 is not in the alternative agreed to, “Repair only”.")
    entry = a_fit(job, "R1", not_charged="given by the shop")
    assert entry.price_minor == 0
    a_fit(job, "C2")


def test_a_newer_agreement_lets_it_in() -> None:
    job = agreed_job(1)
    draft = estimates.draft(job, person=a_staff(), at=now())
    put(draft, planned_line(draft, "R1"), 1)
    put(draft, draft.lines.get(text="All paper capacitors"), 2)  # type: ignore[attr-defined]
    agree(job, 1, send(draft))
    assert a_fit(job, "R1").price_minor == PART


# Pages


def estimate_page(job: Job) -> str:
    return reverse("jobs:estimate", args=[job.pk])


def test_the_counter_offers_puts_names_and_takes_away(counter_client: Client) -> None:
    job = a_job("inspecting")
    draft = estimates.draft(job, person=a_staff(), at=now())
    estimates.add_line(draft, fee("Repair", REPAIR))
    line = estimates.add_line(draft, fee("Cabinet", CABINET))
    page = counter_client.get(estimate_page(job)).content.decode()
    assert "Offer these three" in page
    form = {"once": once(), "seen": str(draft.version)}
    assert counter_client.post(reverse("jobs:alternatives_offer", args=[draft.pk]), form).status_code == 302
    places = sent_form(counter_client.get(estimate_page(job)), f"l{line.pk}")
    answer = counter_client.post(reverse("jobs:alternatives_place", args=[draft.pk]), {**places, f"l{line.pk}": "3"})
    assert answer.status_code == 302
    line.refresh_from_db()
    assert line.tier == 3
    page = counter_client.get(estimate_page(job)).content.decode()
    assert all(name in page for name, _ in SUGGESTED)
    assert "£200.60" in page
    one = draft.alternatives.get(tier=2)  # type: ignore[attr-defined]
    change = reverse("jobs:alternative_change", args=[one.pk])
    named = {**sent_form(counter_client.get(change), "name"), "name": "Advised"}
    assert counter_client.post(change, named).status_code == 302
    one.refresh_from_db()
    assert one.name == "Advised"
    draft.refresh_from_db()
    gone = {"once": once(), "seen": str(draft.version), "job": str(job.pk)}
    said = counter_client.post(reverse("jobs:alternative_remove", args=[one.pk]), gone, follow=True).content.decode()
    assert "Its lines are in “Full restoration” now." in said
    again = counter_client.post(reverse("jobs:alternative_remove", args=[one.pk]), {**gone, "once": once()}, follow=True)
    assert "taken away already" in again.content.decode()


def test_the_same_form_twice_adds_one(counter_client: Client) -> None:
    job = a_job("inspecting")
    draft = estimates.draft(job, person=a_staff(), at=now())
    form = {"once": once(), "seen": str(draft.version), "name": "Make it play", "text": ""}
    for _ in range(2):
        assert counter_client.post(reverse("jobs:alternative_add", args=[draft.pk]), form).status_code == 302
    assert draft.alternatives.count() == 1  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("typed", "said"), [({"name": ""}, "This field is required."), ({"name": "Recommended"}, "called “Recommended” already")]
)
def test_a_bad_name_is_refused_and_what_was_typed_stays(counter_client: Client, typed: dict[str, str], said: str) -> None:
    draft = offering(a_job("inspecting"))
    estimates.remove_alternative(draft.alternatives.get(tier=3))  # type: ignore[attr-defined]
    draft.refresh_from_db()
    form = {"once": once(), "seen": str(draft.version), "text": "kept as typed", **typed}
    answer = counter_client.post(reverse("jobs:alternative_add", args=[draft.pk]), form)
    assert answer.status_code == 422
    assert "kept as typed" in answer.content.decode()
    assert said in answer.content.decode()


def test_two_who_edit_the_choice_at_once(counter_client: Client) -> None:
    draft = offering(a_job("inspecting"))
    one = draft.alternatives.get(tier=2)  # type: ignore[attr-defined]
    change = reverse("jobs:alternative_change", args=[one.pk])
    mine = sent_form(counter_client.get(change), "name")
    places = sent_form(counter_client.get(estimate_page(draft.job)), f"l{draft.lines.get(text='Cabinet').pk}")  # type: ignore[attr-defined]
    estimates.change_alternative(one, "Advised", "")
    for address, form in ((change, mine), (reverse("jobs:alternatives_place", args=[draft.pk]), places)):
        answer = counter_client.post(address, form)
        assert answer.status_code == 422
        assert "Somebody else changed this draft since you opened it." in answer.content.decode()
        seen = sent_form(answer, "name" if address == change else f"l{draft.lines.get(text='Cabinet').pk}")["seen"]  # type: ignore[attr-defined]
        assert int(seen) > int(form["seen"])


def test_a_choice_that_is_not_offered_is_refused(counter_client: Client) -> None:
    draft = offering(a_job("inspecting"))
    line = draft.lines.get(text="Cabinet")  # type: ignore[attr-defined]
    form = sent_form(counter_client.get(estimate_page(draft.job)), f"l{line.pk}")
    answer = counter_client.post(reverse("jobs:alternatives_place", args=[draft.pk]), {**form, f"l{line.pk}": "9"})
    assert answer.status_code == 422
    assert draft.lines.get(text="Cabinet").tier == 3  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["alternatives_offer", "alternative_add", "alternatives_place"])
def test_the_choice_is_the_counters(colleague_client: Client, stranger_client: Client, name: str) -> None:
    draft = offering(a_job("inspecting"))
    assert colleague_client.post(reverse(f"jobs:{name}", args=[draft.pk])).status_code == 403
    assert stranger_client.post(reverse(f"jobs:{name}", args=[draft.pk])).status_code == 302
    for one in ("alternative_change", "alternative_remove"):
        address = reverse(f"jobs:{one}", args=[draft.alternatives.first().pk])  # type: ignore[attr-defined]
        assert colleague_client.post(address).status_code == 403
        assert stranger_client.post(address).status_code == 302


def private(job: Job, planned_in: int = 0) -> tuple[Estimate, str]:
    sent = send(offering(job, planned_in))
    return sent, reverse("approve", args=[estimates.make_link(sent, person=a_staff(), at=now())])


def test_the_customer_chooses_exactly_one(stranger_client: Client) -> None:
    sent, address = private(a_job("inspecting"))
    page = stranger_client.get(address)
    for words in ("1. Repair only, up to £80.60", "2. Recommended, up to £130.60", "3. Full restoration, up to £280.60"):
        assert words in page.content.decode()
    form = {**sent_form(page, "agree-who"), "agree-who": "Iwona Brzask", "agree-tick": "on"}
    answer = stranger_client.post(address, form)
    assert answer.status_code == 422
    assert "Choose which of the alternatives is agreed to." in answer.content.decode()
    assert not Consent.objects.filter(estimate=sent).exists()
    assert stranger_client.post(address, {**form, "agree-tier": "7"}).status_code == 422
    assert stranger_client.post(address, {**form, "agree-tier": "2"}).status_code == 302
    consent = Consent.objects.get(estimate=sent)
    assert (consent.tier, consent.ceiling_minor) == (2, 13_060)
    after = stranger_client.get(address).content.decode()
    assert "agreed to" in after
    assert 'We will not charge more than <strong class="figure">£130.60</strong>' in after


def test_a_customers_answer_to_an_old_page_is_refused(stranger_client: Client) -> None:
    job = a_job("inspecting")
    sent, address = private(job)
    form = {**sent_form(stranger_client.get(address), "agree-who"), "agree-who": "Iwona Brzask", "agree-tick": "on"}
    Estimate.objects.filter(pk=sent.pk).update(digest="0" * 64)
    answer = stranger_client.post(address, {**form, "agree-tier": "1"})
    assert answer.status_code == 422
    assert "isn't the one that stands" in answer.content.decode().replace("&#x27;", "'")
    newer = estimates.draft(job, person=a_staff(), at=now())
    send(newer)
    assert stranger_client.post(address, {**form, "agree-tier": "1"}).status_code == 404
    assert not Consent.objects.filter(estimate__isnull=False).exists()


def test_the_counter_writes_down_which_one(counter_client: Client) -> None:
    sent = send(offering(a_job("inspecting")))
    address = reverse("jobs:consent", args=[sent.pk])
    form = {**sent_form(counter_client.get(address), "who"), "answer": "agreed", "how": "in_person"}
    answer = counter_client.post(address, form)
    assert answer.status_code == 422
    assert "Choose which of the alternatives is agreed to." in answer.content.decode()
    said = counter_client.post(address, {**form, "tier": "3"}, follow=True).content.decode()
    assert "“Full restoration”, £250.60 to £280.60 with tax" in said
    assert Consent.objects.get(estimate=sent).tier == 3


def test_the_paper_shows_the_choice_and_marks_the_lines(counter_client: Client) -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000, allowance_bp=500)
    sent = send(offering(a_job("inspecting")))
    answer = counter_client.get(reverse("jobs:estimate_pdf", args=[sent.pk]))
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())
    for words in ("Choose one of these", "Full restoration", "I agree to alternative no.", "1 2 3", "2 3", "£96.72", "£156.72"):
        assert words in text


def test_the_bench_is_told_what_is_not_agreed_to(colleague_client: Client) -> None:
    job = agreed_job(1)
    page = colleague_client.get(reverse("jobs:change_log", args=[job.pk])).content.decode()
    assert "Agreed to: “Repair only”." in page
    assert (
        f'Not in it, so not to be fitted: <a href="{reverse("jobs:position", args=[position_of(job, "R1").pk])}">R1</a>' in page
    )
    state = position_state(position_of(job, "R1"))
    held = state.decided.hold if state.decided else None
    assert held is not None
    form = {"once": once(), "seen": str(state.last_seq), "offer": f"{held.lot_id}:{held.drawer_id}", "count": "1"}
    answer = colleague_client.post(reverse("jobs:entry_fit", args=[state.position.pk]), form)
    assert answer.status_code == 422
    assert "is not in the alternative agreed to" in answer.content.decode()


def test_the_page_takes_the_same_queries_with_few_lines_and_many(counter_client: Client, django_assert_num_queries: Any) -> None:
    draft = offering(a_job("inspecting"))
    page = estimate_page(draft.job)
    with CaptureQueriesContext(connection) as few:
        counter_client.get(page)
    for number in range(12):
        put(draft, estimates.add_line(draft, fee(f"More {number}", 100)), number % 4)
    with django_assert_num_queries(len(few)):
        counter_client.get(page)
