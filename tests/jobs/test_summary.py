"""The job summary: what the log says in plain words."""

import io
from datetime import date

import pytest
from django.test import Client
from pypdf import PdfReader

from jobs.documents.summary import JobSummary
from jobs.models import Job
from jobs.queries.papers_out import summary_paper
from jobs.queries.sheet import sheet_of
from jobs.services import log
from shop.letterhead_of import letterhead
from shop.models import Role
from shop.money import as_money
from tests.builders import a_fit, a_job, a_lot, a_measurement, a_part, a_staff, author, drawer_of, position_of, some_work

pytestmark = pytest.mark.django_db


def summary_of(job: Job) -> JobSummary:
    return summary_paper(job, letterhead(), written_on=date(2026, 3, 9), signed_by="Benno Tarnwick")


def test_plain_words_are_counted_from_the_log() -> None:
    job = a_job("inspecting")
    a_measurement(job, "R1", "310K")
    told = summary_of(job).in_plain_words
    assert told[0] == "We went through 2 of the 5 positions on this set's list and took a reading at 1."
    assert told[1] == "Not as it should be: R1 (plate load resistor, called for 220K 1/2W, read 310K) had drifted."
    assert "We fitted no parts." in told
    assert "No electrical safety check was made in this job." in told


def test_a_finished_job_tells_parts_safety_and_soak() -> None:
    told = " ".join(summary_of(a_job("ready")).in_plain_words)
    assert "We fitted parts at 1 position: C2 now has 0.01 µF 630 V film (new)." in told
    assert "The electrical safety check passed" in told
    assert "It then ran for 24 h on the bench without a fault." in told


def test_the_parts_total_is_the_sheets() -> None:
    job = a_job("repairing")
    a_fit(job, "C2")
    assert summary_of(job).parts_total == as_money(sheet_of(job).parts_minor, "GBP") == as_money(60, "GBP")


def test_an_override_prints_with_its_reason_and_second_person() -> None:
    job = a_job("repairing")
    second = a_staff("second", Role.BENCH, "Orla Quillfeather")
    lot = a_lot(a_part("0.0047 µF 630 V"))
    fitting = log.Fit(lot, drawer_of(lot), override_reason="none of class Y to be had, museum piece", override_by=second)
    log.fit(position_of(job, "C1"), fitting, author())
    (note,) = summary_of(job).overrides
    assert (note.position, note.second_person) == ("C1", "Orla Quillfeather")
    assert note.reason == "none of class Y to be had, museum piece"


def test_what_is_not_charged_says_why() -> None:
    job = a_job("repairing")
    a_fit(job, "C2", not_charged="goodwill")
    some_work(job, 30, not_charged="my own slip")
    assert [(line.position, line.reason) for line in summary_of(job).not_charged] == [("C2", "goodwill"), ("", "my own slip")]
    assert summary_of(job).parts_total == as_money(0, "GBP")


def test_wiring_and_what_was_left_alone_are_listed() -> None:
    job = a_job("repairing")
    log.record_wiring(job, "heater chain joined to the wrong pin", author(), position=position_of(job, "V1"))
    log.decide(position_of(job, "C3"), "keep", author(), why="reads well, kept for looks")
    summary = summary_of(job)
    assert [(finding.where, finding.text) for finding in summary.wiring] == [("V1", "heater chain joined to the wrong pin")]
    assert [item.why for item in summary.left_alone] == ["reads well, kept for looks"]


def test_old_parts_go_back_only_where_they_were_wanted() -> None:
    wanted, not_wanted = a_job("ready", old_parts_back=True), a_job("ready")
    assert [part.what for part in summary_of(wanted).old_parts_returned] == ["C2: .01 400 V"]
    assert summary_of(not_wanted).old_parts_returned == ()


def test_a_set_returned_unsafe_says_how_it_was_disabled() -> None:
    assert summary_of(a_job("returned")).returned_unsafe == "line cord cut off and kept"


def test_a_transformerless_set_carries_the_live_chassis_caution() -> None:
    assert any("chassis may be live" in words for words in summary_of(a_job("ready")).cautions)


def test_the_paper(colleague_client: Client, stranger_client: Client) -> None:
    job = a_job("ready")
    a = colleague_client.get(f"/money/jobs/{job.pk}/summary/")
    words = "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(a.content)).pages)
    for text in (job.number, "C2", "µF", "£0.60", "Parts total"):
        assert text in words
    assert stranger_client.get(f"/money/jobs/{job.pk}/summary/").status_code == 302
