"""The warranty record: line by line what is covered until when, drawn at hand-over."""

import io
from datetime import timedelta

import pytest
from django.test import Client
from pypdf import PdfReader

from jobs.models import Warranty
from jobs.queries.warranty import cover_of
from tests.builders import a_job, a_profile

pytestmark = pytest.mark.django_db


def test_parts_and_work_are_covered_and_what_was_left_in_is_not() -> None:
    a_profile(warranty_days=90)
    job = a_job("handed_over")
    warranty = Warranty.objects.get(job=job)
    cover = cover_of(job, warranty.starts_on)
    assert cover is not None
    assert [(one.place, one.text, one.days_left) for one in cover.covered if one.place] == [("C2", "0.01 µF 630 V film", 90)]
    assert {one.place for one in cover.left_out} == {"C1", "C3", "R1", "V1"}
    assert {one.line.note for one in cover.left_out} == {"left in as it was; only work done is covered"}


def test_cover_lasts_through_its_last_day_and_no_longer() -> None:
    a_profile(warranty_days=90, labour_warranty_days=90)
    job = a_job("handed_over")
    start = Warranty.objects.get(job=job).starts_on
    running = [cover.running for day in (90, 91) if (cover := cover_of(job, start + timedelta(days=day)))]
    assert running[0] > 0
    assert running[1] == 0


def test_before_hand_over_the_page_says_when_it_starts(counter_client: Client) -> None:
    job = a_job("ready")
    assert "No warranty yet" in counter_client.get(f"/jobs/{job.pk}/warranty/").content.decode()
    assert counter_client.get(f"/money/jobs/{job.pk}/warranty/").status_code == 404


def test_page_and_paper_show_the_lines(colleague_client: Client, stranger_client: Client) -> None:
    job = a_job("handed_over")
    page = colleague_client.get(f"/jobs/{job.pk}/warranty/").content.decode()
    assert "0.01 µF 630 V" in page
    assert "covered" in page
    paper = colleague_client.get(f"/money/jobs/{job.pk}/warranty/")
    words = "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(paper.content)).pages)
    assert "C2" in words
    assert "0.01 µF 630 V" in words
    assert stranger_client.get(f"/jobs/{job.pk}/warranty/").status_code == 302
