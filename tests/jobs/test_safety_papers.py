"""The safety sheet as drawn from a job's log, filled in or to fill in by hand; the estimate as a page."""

import re
import subprocess
from dataclasses import replace
from html import unescape
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags
from pypdf import PdfReader

from inventory.models import Kind
from jobs.models import Job, Stage
from jobs.queries import drawn
from jobs.queries.safety_paper import safety_paper
from jobs.services import log
from shop.letterhead_of import letterhead
from shop.models import Staff
from tests.builders import (
    a_fit,
    a_job,
    a_lot,
    a_part,
    a_profile,
    a_safety_check,
    a_staff,
    an_estimate,
    author,
    drawer_of,
    look_again,
    position_of,
    safe_readings,
)
from tests.jobs.at_bench import a_class_y_capacitor, a_resistor

PAGES = ("jobs:job_safety_sheet", "jobs:safety_page")


@pytest.fixture
def job(db: None) -> Job:
    """C1 runs from the line to the chassis of a transformerless set."""
    return a_job(Stage.REPAIRING)


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages).split())


def said(client: Client, name: str, pk: int) -> str:
    return " ".join(unescape(strip_tags(client.get(reverse(name, args=[pk])).content.decode())).split())


def places(job: Job) -> dict[str, tuple[str, str, str]]:
    paper = safety_paper(job, None, letterhead())
    return {one.position: (one.needed, one.safety_class, one.standing) for one in paper.line_positions}


def test_what_stands_at_the_line_is_told_with_its_class(job: Job) -> None:
    assert places(job)["C1"] == ("Y1 or Y2", "", "not decided on")
    a_fit(job, "C1", a_lot(a_class_y_capacitor()))
    assert places(job)["C1"] == ("Y1 or Y2", "Y2", "right class")


def test_an_override_is_told_with_its_reason_and_both_people(job: Job, owner: Staff) -> None:
    lot = a_lot(a_part("0.0047 µF 630 V", Kind.CAPACITOR, "film"))
    told = log.Fit(lot, drawer_of(lot), override_reason="no Y2 fits the old can", override_by=owner)
    log.fit(position_of(job, "C1"), told, author(a_staff("other")))
    assert places(job)["C1"][2] == "override"
    text = text_of(drawn.safety_sheet(job.pk).content)
    for words in ("no Y2 fits the old can", f"second: {owner}", "▲ override"):
        assert words in text


def test_without_a_check_it_has_room_for_every_reading_of_the_practice(colleague_client: Client, job: Job) -> None:
    """0.75 V at most across 1.5 kΩ ∥ 0.15 µF, 1 MΩ at least when cold (service manuals, sources in practices.toml)."""
    answer = colleague_client.get(reverse("jobs:job_safety_sheet", args=[job.pk]))
    text = text_of(answer.content)
    assert text.count("☐ passed ☐ failed") == len(safety_paper(job, None, letterhead()).to_take) == 9
    for words in ("NOT CHECKED YET", "at most 0.75 V", "at least 1 MΩ", "Source: Panasonic service manuals", "Tested by"):
        assert words in text
    assert "Local electrical codes and licensed practice go before anything written here." in text
    assert "The chassis may be live." in text


def test_with_a_check_it_has_the_readings_and_whether_they_still_hold(job: Job) -> None:
    a_safety_check(job)
    assert "✓ PASSED" in text_of(drawn.safety_sheet(job.pk).content)
    a_fit(job, "R1", a_lot(a_resistor()))
    text = text_of(drawn.safety_sheet(job.pk).content)
    assert "Result: passed, and void since." in text
    assert "✗ VOID. The circuit was changed after this check" in text


def test_a_checked_job_can_have_a_blank_sheet_too(counter_client: Client, job: Job) -> None:
    a_safety_check(job)
    text = text_of(counter_client.get(reverse("jobs:job_safety_sheet", args=[job.pk]), {"blank": "yes"}).content)
    assert "NOT CHECKED YET" in text


def test_the_newest_check_counts_and_an_earlier_one_can_be_printed(job: Job) -> None:
    over = [replace(one, value=one.value * 3) for one in safe_readings("hot_check_075")]
    first = a_safety_check(job, over)
    a_safety_check(job)
    assert "Result: passed." in text_of(drawn.safety_sheet(job.pk).content)
    assert "Result: FAILED." in text_of(drawn.safety_sheet(job.pk, first.pk).content)


def test_open_points_are_listed_until_the_look_is_signed(db: None) -> None:
    job = a_job(Stage.PROVING)
    before = safety_paper(job, None, letterhead())
    assert before.look is None
    assert any(point.startswith("C1: ") for point in before.open_points)
    look_again(job)
    after = safety_paper(job, None, letterhead())
    assert after.look is not None
    assert after.look.holds
    assert (after.open_points, set(after.look.points)) == ((), set(before.open_points))


def test_a_set_that_went_back_says_how(counter_client: Client) -> None:
    job = a_job(Stage.HANDED_OVER)
    text = text_of(drawn.safety_sheet(job.pk).content)
    assert "☒ Released: proven safe and working." in text
    assert "☐ RETURNED UNSAFE, DISABLED." in text
    assert "☒ Released: proven safe and working." in said(counter_client, "jobs:safety_page", job.pk)


def test_the_page_says_what_the_sheet_says(counter_client: Client, job: Job) -> None:
    a_safety_check(job)
    page = said(counter_client, "jobs:safety_page", job.pk)
    for words in (
        "Result: passed.",
        "Places at the line",
        "Y1 or Y2",
        "Every reading above stayed inside its limit.",
        job.number,
    ):
        assert words in page


@pytest.mark.parametrize("name", PAGES)
def test_a_stranger_sees_no_safety_sheet_and_a_job_that_is_none_has_none(
    stranger_client: Client, counter_client: Client, job: Job, name: str
) -> None:
    assert stranger_client.get(reverse(name, args=[job.pk]))["Location"].startswith(reverse("login"))
    assert counter_client.get(reverse(name, args=[10**9])).status_code == 404


class TestTheEstimateAsAPage:
    def test_says_what_its_paper_says(self, counter_client: Client, owner: Staff) -> None:
        a_profile()
        sent = an_estimate(a_job(Stage.INSPECTING, person=owner), person=owner)
        page = said(counter_client, "jobs:estimate_page", sent.pk)
        printed = text_of(counter_client.get(reverse("jobs:estimate_pdf", args=[sent.pk])).content)
        sums = set(re.findall(r"£[\d,.]*\d", printed))
        assert sums
        assert [amount for amount in sums if amount not in page] == []
        for words in ("Work as foreseen", "The most this can cost", "Call us, or sign below and send this paper back."):
            assert words in page

    def test_never_carries_a_private_link(self, counter_client: Client, owner: Staff) -> None:
        sent = an_estimate(a_job(Stage.INSPECTING, person=owner), person=owner)
        assert "/answer/" not in counter_client.get(reverse("jobs:estimate_page", args=[sent.pk])).content.decode()

    def test_a_stranger_sees_nothing_and_one_that_is_none_is_not_found(
        self, stranger_client: Client, counter_client: Client, owner: Staff
    ) -> None:
        sent = an_estimate(a_job(Stage.INSPECTING, person=owner), person=owner)
        assert stranger_client.get(reverse("jobs:estimate_page", args=[sent.pk])).status_code == 302
        assert counter_client.get(reverse("jobs:estimate_page", args=[10**9])).status_code == 404


def test_another_reader_finds_the_same_words(job: Job) -> None:
    """Poppler's pdftotext: signs of the trade can be searched and copied."""
    content = drawn.safety_sheet(job.pk).content
    text = subprocess.run(["pdftotext", "-", "-"], input=content, capture_output=True, check=True).stdout.decode()
    for words in ("1.5 kΩ", "0.15 µF", "MΩ", "☐ failed"):
        assert words in text
