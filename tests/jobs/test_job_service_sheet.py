"""A job on its model's service sheet: each position marked as the log leaves it, on the page and on paper."""

import itertools
import re

import pytest
from django.test import Client
from django.urls import reverse

from jobs.documents.service_sheet import PaperMark, StateOnSheet, draw
from jobs.documents.sheet_marks import FLAGS, LOOKS, Spot
from jobs.models import Decision, Job, SheetPlace, Stage
from jobs.queries.service_sheets import cut_around, job_sheet, look_of
from jobs.queries.sheet import position_state, sheet_of
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from shop.letterhead_of import letterhead
from tests import builders as make
from tests.conftest import MONDAY
from tests.jobs.service_sheets import a_page, drawn
from tests.jobs.test_service_sheets import questions_asked
from tests.paper.papers import text_of
from tests.paper.samples import HEAD
from tests.paper.test_every_paper import HOSTILE
from tests.web.test_contrast import contrast

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(db: None) -> Job:
    made = make.a_job(Stage.REPAIRING)
    a_page(made.radio.model, C1=(1000, 1000), C2=(5000, 5000), C3=(9900, 200))
    return made


def look(job: Job, designator: str) -> str:
    return look_of(position_state(make.position_of(job, designator))).label


def page(client: Client, job: Job, query: str = "") -> str:
    return client.get(reverse("jobs:job_service_sheet", args=[job.pk]) + query).content.decode()


def test_a_mark_says_how_the_log_leaves_its_position(job: Job) -> None:
    assert look(job, "R1") == "to inspect"
    make.a_measurement(job, "R1")
    assert look(job, "R1") == "to decide"
    assert look(job, "C2") == "to fit"
    make.a_fit(job, "C2")
    assert look(job, "C2") == "fitted"
    for designator, decision in (("C1", Decision.REMOVE), ("C3", Decision.REPAIR), ("V1", Decision.KEEP)):
        log.decide(make.position_of(job, designator), decision, make.author(), why="as agreed")
    assert [look(job, name) for name in ("C1", "C3", "V1")] == ["removed", "repaired in place", "left in"]


def test_a_bad_verdict_is_flagged_until_the_part_is_out(job: Job) -> None:
    log.record_measured(make.position_of(job, "C2"), "shorted", make.author())
    log.record_wiring(job, "its earthy end hangs free", make.author(), position=make.position_of(job, "C2"))
    marks = {one.position.designator: one for one in job_sheet(sheet_of(job)).marked}
    assert marks["C2"].words == "C2, Coupling capacitor (plate to grid): to fit, bad verdict, wiring finding"
    make.a_fit(job, "C2")
    marks = {one.position.designator: one for one in job_sheet(sheet_of(job)).marked}
    assert [flag.label for flag in marks["C2"].flags] == ["wiring finding"]


def test_the_page_marks_counts_and_lists_what_has_no_place(colleague_client: Client, job: Job) -> None:
    text = page(colleague_client, job)
    assert text.count('id="at-C') == 3
    assert re.search(r"to fit <b class=\"figure\">1</b>", text)
    assert re.search(r"to inspect <b class=\"figure\">4</b>", text)
    assert 'aria-label="next: C1, Capacitor from the line to the chassis: to inspect"' in text
    beside = text[text.index("Not on this page") : text.index("The same in words")]
    assert "R1" in beside
    assert "V1" in beside
    assert "C2" not in beside
    assert text.index('<td data-label="Place">none yet') > 0


def test_a_model_without_a_sheet_is_told_what_one_is_for(colleague_client: Client) -> None:
    bare = make.a_job(Stage.TAKEN_IN)
    assert "No service sheet yet" in page(colleague_client, bare)
    refused = colleague_client.get(reverse("jobs:job_service_sheet_pdf", args=[bare.pk]))
    assert refused.status_code == 409


def test_the_page_of_what_comes_next_is_shown_first(colleague_client: Client, job: Job) -> None:
    log.decide(make.position_of(job, "C1"), Decision.KEEP, make.author(), why="sound")
    a_page(job.radio.model, "Output stage", C2=(100, 100), R1=(4000, 4000))
    for designator in ("C2", "C3"):
        log.decide(make.position_of(job, designator), Decision.KEEP, make.author(), why="sound")
    assert '<h2 class="sheet-title">Output stage</h2>' in page(colleague_client, job)
    first = page(colleague_client, job, "?page=1")
    assert '<h2 class="sheet-title">Circuit</h2>' in first
    assert '<a href="?page=2#at-R1">on Output stage</a>' in first
    assert '<h2 class="sheet-title">Output stage</h2>' in page(colleague_client, job, "?page=99")


def test_a_stranger_is_sent_to_sign_in(stranger_client: Client, job: Job) -> None:
    for name in ("job_service_sheet", "job_service_sheet_pdf"):
        assert stranger_client.get(reverse(f"jobs:{name}", args=[job.pk])).headers["Location"].startswith(reverse("login"))


def test_as_many_questions_for_many_positions_as_for_few(colleague_client: Client, job: Job) -> None:
    address = reverse("jobs:job_service_sheet", args=[job.pk])
    few = questions_asked(colleague_client, address)
    sheet = job.radio.model.sheet_pages.get()
    for number in range(40, 80):
        add_position(job, CalledRow(f"C{number}", "coupling", ".01 400 V"))
        SheetPlace.objects.create(page=sheet, designator=f"C{number}", x=number * 100, y=5000)
    assert questions_asked(colleague_client, address) == few


def test_the_positions_page_shows_its_part_of_the_sheet(colleague_client: Client, job: Job) -> None:
    place = SheetPlace.objects.get(designator="C2")
    text = colleague_client.get(reverse("jobs:position", args=[make.position_of(job, "C2").pk])).content.decode()
    assert reverse("jobs:sheet_place_cut", args=[place.pk]) in text
    assert "#at-C2" in text
    without = colleague_client.get(reverse("jobs:position", args=[make.position_of(job, "R1").pk])).content.decode()
    assert "On the service sheet" not in without


@pytest.mark.parametrize("x", [0, 5000, 10_000])
@pytest.mark.parametrize("y", [0, 5000, 10_000])
def test_a_cut_out_stays_on_the_page_and_holds_its_place(job: Job, x: int, y: int) -> None:
    place = SheetPlace.objects.select_related("page").first()
    place.x, place.y = x, y
    cut = cut_around(place)
    left, top, right, bottom = cut.box
    assert left >= 0
    assert top >= 0
    assert right <= 1200
    assert bottom <= 800
    assert left + cut.spot.x * cut.width / 10_000 == pytest.approx(x * 1200 / 10_000, abs=1)
    assert top + cut.spot.y * cut.height / 10_000 == pytest.approx(y * 800 / 10_000, abs=1)


def test_the_paper_says_what_the_page_says(colleague_client: Client, job: Job) -> None:
    answer = colleague_client.get(reverse("jobs:job_service_sheet_pdf", args=[job.pk]))
    text = text_of(answer.content)
    assert job.number in text
    assert "to inspect: 4" in text
    assert "Not on this page: R1 (to inspect), V1 (to inspect)." in text
    assert "page 1 of 1" in text


@pytest.mark.parametrize("size", [(4000, 700), (700, 4000), (1200, 800)])
def test_any_sheet_fits_on_one_paper(size: tuple[int, int]) -> None:
    make.a_profile()
    marks = tuple(
        PaperMark(f"C{at}", Spot(at * 100, at * 100), one, tuple(FLAGS.values())) for at, one in enumerate(LOOKS.values())
    )
    counts = tuple((one, 12) for one in (*LOOKS.values(), *FLAGS.values()))
    beside = tuple(f"C{number} (to inspect)" for number in range(40))
    data = StateOnSheet(
        letterhead(),
        "J-2026-0030",
        "Merrowby Kestrel 5",
        "Circuit",
        "folder 3",
        MONDAY.date(),
        drawn(size, "JPEG"),
        *size,
        marks,
        counts,
        beside,
    )
    assert "page 1 of 1" in text_of(draw(data))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=list(HOSTILE))
def test_hostile_text_is_only_text_on_the_paper(text: str) -> None:
    mark = PaperMark(text, Spot(5000, 5000), LOOKS["fit"])
    data = StateOnSheet(
        HEAD, text, text, text, text, MONDAY.date(), drawn((200, 100), "JPEG"), 200, 100, (mark,), (), (text, text)
    )
    assert draw(data) == draw(data)
    assert "/etc/passwd" not in text or "/etc/passwd" in text_of(draw(data))


def test_a_letter_can_be_read_on_its_ground() -> None:
    """4.5:1 for text, 3:1 for the mark's edge on a white sheet (WCAG 2.2, success criteria 1.4.3 and 1.4.11)."""
    for one in (*LOOKS.values(), *FLAGS.values()):
        assert contrast(one.ink, one.ground) >= 4.5, one.code
    assert contrast("#17212a", "#ffffff") >= 3


def test_no_two_states_differ_by_colour_alone() -> None:
    """WCAG 2.2, success criterion 1.4.1: shape or letter tells any two apart, also in black and white."""
    for one, other in itertools.combinations((*LOOKS.values(), *FLAGS.values()), 2):
        assert one.letter != other.letter
        assert one.points != other.points or (one.ground == "#ffffff") != (other.ground == "#ffffff")
