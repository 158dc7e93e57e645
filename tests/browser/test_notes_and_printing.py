"""In Chromium: a note that can be undone stays until it is closed, with or without scripts; every page prints as paper."""

from collections.abc import Callable
from io import BytesIO

import pypdfium2
import pytest
from django.urls import reverse
from playwright.sync_api import Page
from pypdf import PdfReader

from jobs.models import Job, Stage
from shop.models import Staff
from tests.browser.driver import DESKTOP
from tests.builders import a_job

pytestmark = [pytest.mark.browser, pytest.mark.looks, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def job(transactional_db: None) -> Job:
    return a_job(Stage.TAKEN_IN)


def start_inspection(page: Page, job: Job) -> None:
    page.goto(reverse("jobs:job", args=[job.pk]))
    page.get_by_role("button", name="Start inspection").click()


def test_a_note_is_said_once_more_closes_by_the_keyboard_and_undoes(
    phone: Page, sign_in: Callable, owner: Staff, job: Job
) -> None:
    """WCAG 2.2: 2.2.1 (no time limit), 2.1.1 (keyboard), 4.1.3 (status messages)."""
    sign_in(phone, owner)
    start_inspection(phone, job)
    note = phone.locator("dialog.message-undo")
    assert note.evaluate("note => note.getBoundingClientRect().bottom <= innerHeight")
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    said = phone.locator("[data-say-again]")
    said.filter(has_text="It can be undone.").wait_for(state="attached")
    assert said.get_attribute("role") == "status"
    close = note.get_by_role("button", name="Close this note")
    close.focus()
    phone.keyboard.press("Enter")
    note.wait_for(state="hidden")
    phone.reload()
    start = phone.locator("main").get_by_role("button", name="Undo")
    assert start.count() >= 1, "the act itself stays undoable on the job's page"


def test_without_scripts_a_note_closes_and_undoes_too(
    open_device: Callable[..., Page], sign_in: Callable, owner: Staff, job: Job
) -> None:
    page = sign_in(open_device(DESKTOP, java_script_enabled=False), owner)
    start_inspection(page, job)
    note = page.locator("dialog.message-undo")
    note.get_by_role("button", name="Undo").click()
    page.get_by_text("is back at “Taken in”").wait_for()
    page.locator("dialog.message").get_by_role("button", name="Close this note").click()
    page.locator("dialog.message").wait_for(state="hidden")


PRINTED = ("today", "jobs:list", "billing:books")
NEVER_ON_PAPER = ("Sign out", "Search", "Take in a set", "Light", "Find")


def test_pages_print_black_on_white_without_their_buttons(
    open_device: Callable[..., Page], sign_in: Callable, owner: Staff, job: Job
) -> None:
    page = sign_in(open_device(DESKTOP, color_scheme="dark"), owner)
    addresses = [reverse(name) for name in PRINTED] + [reverse("jobs:change_log", args=[job.pk])]
    wrong: dict[str, object] = {}
    for address in addresses:
        page.goto(address)
        paper = page.pdf(format="A4")
        text = "\n".join(leaf.extract_text() for leaf in PdfReader(BytesIO(paper)).pages)
        wrong |= {f"{address}: {word}": text for word in NEVER_ON_PAPER if word in text.split("\n")}
        corner = pypdfium2.PdfDocument(paper)[0].render(scale=0.2).to_pil().convert("L").getpixel((2, 2))
        wrong |= {f"{address}: ground": corner} if corner != 255 else {}
    assert wrong == {}
    assert all(word in text for word in ("Position", "Called for", "Measured", "Verdict", "C2")), "the log prints as a table"
