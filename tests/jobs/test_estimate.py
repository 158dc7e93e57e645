"""The estimate: drawn from the log, work named once, frozen once sent, revised by a new version."""

import io
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from jobs.models import Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.estimates import PRICE_OPEN, drift_of, estimate_totals
from jobs.queries.exposure import exposure_of
from jobs.services import estimates, log
from jobs.services.estimates import TypedLine
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import ActOnce, Profile, Staff
from tests.builders import (
    a_fit,
    a_flat_task,
    a_job,
    a_lot,
    a_part,
    a_profile,
    a_staff,
    author,
    drawer_of,
    plan_part,
    position_of,
    some_work,
)

pytestmark = pytest.mark.django_db
TIME = TypedLine(EstimateLineKind.LABOUR, "Repair", low_minutes=120, high_minutes=180)


def draft_of(job: Job) -> Estimate:
    return estimates.draft(job, person=a_staff(), at=now())


def send(draft: Estimate) -> Estimate:
    return estimates.send(draft, person=a_staff(), at=now())


def texts(estimate: Estimate) -> list[str]:
    return [line.text for line in estimate.lines.all()]  # type: ignore[attr-defined]


def token(client: Client, address: str, name: str = "once") -> str:
    """The once-token of the form on a page."""
    page = client.get(address).content.decode()
    return page.split(f'name="{name}" value="', 1)[1].split('"', 1)[0]


def test_a_draft_takes_planned_parts_from_the_sheet() -> None:
    job = a_job("inspecting")
    (line,) = draft_of(job).lines.all()  # type: ignore[attr-defined]
    assert (line.position.designator, line.low_minor, line.high_minor, line.from_log) == ("C2", 60, 60, True)


def test_a_replacement_without_a_part_says_that_its_price_is_open() -> None:
    job = a_job("inspecting", with_fit=False)
    log.decide(position_of(job, "R1"), "replace", author())
    (line,) = draft_of(job).lines.all()  # type: ignore[attr-defined]
    assert PRICE_OPEN in line.text


def test_worked_time_is_drawn_where_no_work_is_typed() -> None:
    a_profile(inspection_fee_minor=0)
    job = a_job("repairing")
    some_work(job, 60)
    last = job.estimates.get()  # type: ignore[attr-defined]
    last.lines.filter(from_log=False).delete()
    assert "Repair (done so far)" in texts(draft_of(job))


def test_a_revision_does_not_count_worked_hours_twice() -> None:
    """Estimate of 3 h, 1 h worked, revised: still 3 h in all, 2 h to come, and the whole as before."""
    job = a_job("repairing", labour_minor=12_000)
    before = job.estimates.get().high_minor  # type: ignore[attr-defined]
    some_work(job, 60)
    revision = draft_of(job)
    assert revision.high_minor == before
    terms = Profile.objects.get()
    exposure = exposure_of(job, terms)
    assert (exposure.spent_minor, exposure.to_come_minor) == (4_000, 8_000 + 60)
    assert exposure.foreseen_minor == revision.high_minor


def test_work_still_to_come_shrinks_as_work_is_logged_and_never_below_nothing() -> None:
    job = a_job("repairing", labour_minor=8_000, with_fit=False)
    terms = Profile.objects.get()
    left = []
    for _ in range(2):
        some_work(job, 60)
        left.append(exposure_of(job, terms).to_come_minor)
    assert left == [4_000, 0]


def test_a_typed_part_gives_way_once_the_log_has_a_price_there() -> None:
    job = a_job("inspecting", with_fit=False)
    position = position_of(job, "C3")
    draft = draft_of(job)
    typed = TypedLine("part", "smoothing capacitor, to be bought", low_minor=900, high_minor=1500, position=position)
    estimates.add_line(draft, typed)
    assert exposure_of(job, Profile.objects.get()).to_come_minor == 1500
    plan_part(job, "C2")
    log.decide(position, "replace", author())
    estimates.redraw(draft)
    assert "smoothing capacitor, to be bought" in texts(draft)
    assert not any(PRICE_OPEN in text for text in texts(draft))
    plan_part(job, "C3", part=a_part("47 µF 450 V", technology="electrolytic", polarised=True))
    estimates.redraw(draft)
    assert "smoothing capacitor, to be bought" not in texts(draft)


def test_low_and_high_totals_carry_tax() -> None:
    a_profile(labour_tax_bp=2000, parts_tax_bp=2000)
    job = a_job("inspecting", with_fit=False)
    draft = draft_of(job)
    estimates.add_line(draft, TIME)
    low, high = estimate_totals(draft)
    assert (low.net_minor, low.tax_minor, low.gross_minor) == (8_000, 1_600, 9_600)
    assert (high.net_minor, high.tax_minor, high.gross_minor) == (12_000, 2_400, 14_400)
    draft.refresh_from_db()
    assert (draft.low_minor, draft.high_minor) == (9_600, 14_400)


def test_a_sent_version_is_frozen_for_every_service() -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    line = estimates.add_line(draft, TIME)
    send(draft)
    frozen = "Version 1 was sent and is frozen. Draft a new version to change anything."
    acts: list[Any] = [
        lambda: estimates.add_line(draft, TIME),
        lambda: estimates.add_line(draft, TIME, line=line),
        lambda: estimates.remove_line(line),
        lambda: estimates.set_note(draft, "later"),
        lambda: estimates.redraw(draft),
    ]
    before = list(EstimateLine.objects.values_list("pk", "text", "low_minor", "high_minor"))
    for act in acts:
        with pytest.raises(Stale) as refused:
            act()
        assert refused.value.message == frozen
    assert list(EstimateLine.objects.values_list("pk", "text", "low_minor", "high_minor")) == before


def test_terms_changed_later_do_not_touch_a_sent_version() -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    estimates.add_line(draft, TIME)
    sent = send(draft)
    a_profile(hour_rate_minor=9_900, labour_tax_bp=2500, parts_tax_bp=2500, prices_include_tax=True, currency="EUR")
    sent.refresh_from_db()
    assert (sent.high_minor, estimate_totals(sent)[1].gross_minor, sent.currency) == (12_060, 12_060, "GBP")


def test_a_revision_carries_typed_lines_over_and_replaces_the_version_that_is_out() -> None:
    job = a_job("inspecting")
    first = draft_of(job)
    estimates.add_line(first, TIME)
    send(first)
    second = draft_of(job)
    assert texts(second).count("Repair") == 1
    estimates.send(second, person=a_staff(), at=now())
    first.refresh_from_db()
    assert (first.state, second.number) == (EstimateState.SUPERSEDED, 2)


def test_a_revision_kills_the_older_versions_link(client: Client) -> None:
    job = a_job("awaiting_consent")
    first = job.estimates.get()  # type: ignore[attr-defined]
    secret = estimates.make_link(first, person=a_staff(), at=now())
    assert client.get(f"/answer/{secret}/").status_code == 200
    send(draft_of(job))
    assert client.get(f"/answer/{secret}/").status_code == 404


def test_the_page_says_how_far_the_log_has_moved_on(counter_client: Client) -> None:
    job = a_job("agreed")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    assert drift_of(sent, Profile.objects.get()).changes == ()
    log.decide(position_of(job, "R1"), "replace", author(), plan=_plan_for("220K 1W"))
    drift = drift_of(sent, Profile.objects.get())
    assert [(change.place, change.before_minor, change.after_minor) for change in drift.changes] == [("R1", None, 60)]
    assert drift.difference_minor == 60
    page = counter_client.get(f"/jobs/{job.pk}/estimate/").content.decode()
    assert "The log has moved on since version 1: difference +£0.60 with tax" in page


def _plan_for(marking: str) -> log.Plan:
    lot = a_lot(a_part(marking, kind="resistance"))
    return log.Plan(lot.part, 1, lot, drawer_of(lot))


def test_a_fitted_part_moves_nothing_where_the_planned_one_went_in() -> None:
    job = a_job("repairing")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    a_fit(job, "C2")
    assert drift_of(sent, Profile.objects.get()).changes == ()


def test_a_draft_that_the_log_has_left_behind_does_not_go_out() -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    log.decide(position_of(job, "R1"), "replace", author(), plan=_plan_for("220K 1W"))
    with pytest.raises(Stale, match="The change log has moved on since this draft was drawn"):
        send(draft)


def test_an_estimate_holds_at_least_the_work_that_is_logged() -> None:
    a_profile(inspection_fee_minor=0)
    job = a_job("repairing", labour_minor=20_000)
    some_work(job, 240)
    revision = draft_of(job)
    line = revision.lines.get(from_log=False)  # type: ignore[attr-defined]
    estimates.add_line(revision, TypedLine("fee", "Work", low_minor=9_000, high_minor=9_000), line=line)
    with pytest.raises(Refused) as refused:
        send(revision)
    assert refused.value.message == (
        "£160.00 of work is logged already, and the lines of this estimate hold £90.00. They name the whole work of the job, "
        "what is done included: raise them."
    )


def test_an_empty_estimate_does_not_go_out() -> None:
    job = a_job("inspecting", with_fit=False)
    with pytest.raises(Refused, match="An estimate needs at least one line"):
        send(draft_of(job))


def test_a_line_of_the_log_is_not_rewritten_or_taken_away() -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    line = draft.lines.get()  # type: ignore[attr-defined]
    for act in (lambda: estimates.remove_line(line), lambda: estimates.add_line(draft, TIME, line=line)):
        with pytest.raises(Refused, match="This line comes from the change log"):
            act()


def test_bad_lines_are_refused_in_words() -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    cases = [
        (TypedLine("nothing", "x"), "Choose what kind of line this is."),
        (TypedLine("fee", " "), "Say what the line is for."),
        (TypedLine("labour", "Repair"), "Enter the time this work will take."),
        (TypedLine("fee", "x", low_minor=10**11), "That sum is larger than any line this shop can book."),
        (TypedLine("fee", "x", low_minor=-5), "A line of an estimate can't be below nothing."),
    ]
    for typed, words in cases:
        with pytest.raises(Refused) as refused:
            estimates.add_line(draft, typed)
        assert refused.value.message == words


def test_a_position_of_another_job_is_refused() -> None:
    draft = draft_of(a_job("inspecting"))
    foreign = position_of(a_job("inspecting"), "C1")
    with pytest.raises(Refused, match="This position belongs to another job"):
        estimates.add_line(draft, TypedLine("part", "x", low_minor=5, high_minor=5, position=foreign))


def test_a_flat_task_has_its_own_price() -> None:
    draft = draft_of(a_job("inspecting"))
    line = estimates.add_line(draft, TypedLine("flat", "", task=a_flat_task()))
    assert (line.text, line.low_minor, line.high_minor) == ("Align the IF strip", 6_000, 6_000)


# The pages.


def test_the_counter_drafts_types_and_sends(counter_client: Client, counter: Staff) -> None:
    job = a_job("inspecting")
    page = f"/jobs/{job.pk}/estimate/"
    assert "No estimate yet" in counter_client.get(page).content.decode()
    counter_client.post(f"/jobs/{job.pk}/estimate/draft/", {"once": token(counter_client, page)})
    draft = Estimate.objects.get()
    sent = {"what": "time", "time-once": token(counter_client, page, "time-once"), "time-seen": str(draft.version)}
    sent |= {"time-text": "Repair", "time-low_minutes": "2 h", "time-high_minutes": "3:00"}
    for _ in range(2):
        counter_client.post(f"/jobs/estimates/{draft.pk}/line/", sent)
    draft.refresh_from_db()
    assert (draft.low_minor, draft.high_minor) == (8_060, 12_060)
    shown = counter_client.get(page).content.decode()
    assert "£80.60 to £120.60" in shown
    once = shown.split("/send/", 1)[1].split('name="once" value="', 1)[1].split('"', 1)[0]
    counter_client.post(f"/jobs/estimates/{draft.pk}/send/", {"once": once, "seen": draft.version})
    draft.refresh_from_db()
    assert draft.state == EstimateState.SENT


def test_what_was_typed_stays_when_a_line_is_refused(counter_client: Client) -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    once = token(counter_client, f"/jobs/{job.pk}/estimate/", "sum-once")
    sent = {
        "what": "sum",
        "sum-once": once,
        "sum-seen": draft.version,
        "sum-kind": "fee",
        "sum-text": "Carriage",
        "sum-low": "12.345",
    }
    answer = counter_client.post(f"/jobs/estimates/{draft.pk}/line/", sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Carriage" in page
    assert "12.345" in page
    assert "has more than 2 decimals" in page


def test_two_editors_of_one_line_the_second_is_told_and_keeps_what_was_typed(counter_client: Client) -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    line = estimates.add_line(draft, TypedLine("fee", "Carriage", low_minor=1200, high_minor=1200))
    draft.refresh_from_db()
    address = f"/jobs/estimates/lines/{line.pk}/"
    once, seen = token(counter_client, address, "sum-once"), draft.version
    estimates.add_line(draft, TypedLine("fee", "Carriage", low_minor=1500, high_minor=1500), line=line)
    sent = {"sum-once": once, "sum-seen": seen, "sum-kind": "fee", "sum-text": "Carriage both ways", "sum-low": "18.00"}
    answer = counter_client.post(address, sent)
    assert answer.status_code == 422
    assert "Somebody else changed this draft since you opened it." in answer.content.decode()
    assert "Carriage both ways" in answer.content.decode()
    line.refresh_from_db()
    assert line.low_minor == 1500


def test_a_draft_changed_by_somebody_else_is_not_sent_unseen(counter_client: Client) -> None:
    job = a_job("inspecting")
    draft = draft_of(job)
    once = token(counter_client, f"/jobs/{job.pk}/estimate/")
    seen = draft.version
    estimates.add_line(draft, TIME)
    answer = counter_client.post(f"/jobs/estimates/{draft.pk}/send/", {"once": once, "seen": seen})
    assert answer.status_code == 409
    assert "The draft was changed since you opened it." in answer.content.decode()


def test_the_private_link_is_shown_once_and_kept_as_a_hash_only(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    once = token(counter_client, f"/jobs/{job.pk}/estimate/")
    address = f"/jobs/estimates/{sent.pk}/link/"
    first = counter_client.post(address, {"once": once}).content.decode()
    secret = first.split("/answer/", 1)[1].split("/", 1)[0]
    assert "<svg" in first
    again = counter_client.post(address, {"once": once}, follow=True).content.decode()
    assert "made and shown already" in again
    assert secret not in again
    assert not ActOnce.objects.filter(answer__contains=secret).exists()
    assert counter_client.get(f"/answer/{secret}/").status_code == 200


def test_the_paper_carries_the_link_only_when_its_token_is_sent(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    secret = estimates.make_link(sent, person=a_staff(), at=now())

    def words(answer: Any) -> str:
        return "".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)

    address = f"/jobs/estimates/{sent.pk}/paper/"
    without, with_link = words(counter_client.get(address)), words(counter_client.post(address, {"token": secret}))
    assert "/answer/" not in without
    assert secret[:12] in with_link.replace("\n", "")
    assert "/answer/" not in words(counter_client.post(address, {"token": "made-up"}))
    assert job.number in without
    assert "C2" in without


@pytest.mark.parametrize("path", ["draft", "line", "redraw", "note", "send", "recall", "link"])
def test_the_bench_does_not_write_estimates(colleague_client: Client, stranger_client: Client, path: str) -> None:
    job = a_job("awaiting_consent")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    address = f"/jobs/{job.pk}/estimate/draft/" if path == "draft" else f"/jobs/estimates/{sent.pk}/{path}/"
    assert colleague_client.post(address).status_code == 403
    assert stranger_client.post(address).status_code == 302
    assert colleague_client.get(f"/jobs/{job.pk}/estimate/").status_code == 200


def test_acts_are_not_done_by_looking(counter_client: Client) -> None:
    job = a_job("awaiting_consent")
    sent = job.estimates.get()  # type: ignore[attr-defined]
    for path in ("line", "redraw", "note", "send", "recall", "link"):
        assert counter_client.get(f"/jobs/estimates/{sent.pk}/{path}/").status_code == 405


def test_the_page_takes_the_same_queries_at_one_version_and_at_ten(
    counter_client: Client, django_assert_num_queries: Any
) -> None:
    job = a_job("awaiting_consent")
    page = f"/jobs/{job.pk}/estimate/"
    with CaptureQueriesContext(connection) as once:
        counter_client.get(page)
    for _ in range(9):
        send(draft_of(job))
    with django_assert_num_queries(len(once)):
        counter_client.get(page)
