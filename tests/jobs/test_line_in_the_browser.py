"""The line in Chromium on a tablet's width: by keys alone, through a network that drops, and beside somebody else."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from jobs.models import Job, Stage
from jobs.services import log
from shop.models import Staff
from tests.browser.driver import TABLET
from tests.builders import a_job, author, position_of

# What the page's scripts do, whose acts other tests send to either database.
pytestmark = [pytest.mark.looks, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def job(transactional_db: None) -> Job:
    return a_job(Stage.INSPECTING, with_fit=False)


@pytest.fixture
def sheet(open_device: Callable[..., Page], sign_in: Callable, owner: Staff, job: Job) -> Page:
    page = sign_in(open_device(TABLET), owner)
    page.goto(reverse("jobs:change_log", args=[job.pk]))
    expect(page.locator("[data-sheet-tools]")).to_be_visible()
    return page


def type_line(page: Page, text: str) -> None:
    page.locator("#line_line").focus()
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def written(job: Job) -> list[tuple[str, str, str]]:
    listed = job.entries.select_related("position").order_by("seq")
    return [(one.position.designator, one.kind, one.decision or one.text) for one in listed]


def chosen(page: Page) -> str:
    return str(page.evaluate("document.activeElement.dataset.designator ?? document.activeElement.id"))


def is_seen_whole(page: Page) -> bool:
    """The focused row stands neither under the line nor out of its frame."""
    return bool(
        page.evaluate(
            """() => {
                const row = document.activeElement.getBoundingClientRect();
                const bar = document.querySelector(".line-bar").getBoundingClientRect();
                const head = document.querySelector(".sheet thead").getBoundingClientRect();
                const frame = document.querySelector(".sheet-frame").getBoundingClientRect();
                return row.top >= Math.max(bar.bottom, head.bottom) - 1 && row.bottom <= Math.min(frame.bottom, innerHeight) + 1;
            }"""
        )
    )


def test_a_sheet_is_entered_by_keys_alone(sheet: Page, job: Job) -> None:
    keys, said = sheet.keyboard, sheet.locator("[data-line-said]")
    sheet.locator("#line_line").focus()
    keys.type("';l")
    expect(sheet.locator("#line-read")).to_contain_text("C1 found .0047 250 V")
    keys.press("Enter")
    expect(said).to_contain_text("C1: found: .0047 250 V; decided: leave in.")
    expect(sheet.locator("[data-line-place]")).to_contain_text("Line at C2")
    expect(sheet.locator("#sheet-now")).to_contain_text("4 of 5")
    keys.press("Escape")
    assert chosen(sheet) == "C2"
    keys.press("r")
    expect(said).to_contain_text("C2: decided: replace.")
    keys.press("ArrowDown")
    assert chosen(sheet) == "C3"
    assert is_seen_whole(sheet)
    keys.press("k")
    expect(said).to_contain_text("C3: measured: judged by hand, leaky.")
    keys.press("u")
    expect(said).to_contain_text("C3: taken back.")
    keys.press("/")
    keys.type("v")
    expect(sheet.locator("tr.is-sought")).to_contain_text("V1")
    keys.type("1;l")
    keys.press("Enter")
    expect(said).to_contain_text("V1: decided: leave in.")
    keys.press("Escape")
    keys.press("?")
    expect(sheet.get_by_role("dialog")).to_contain_text("the next unresolved position")
    keys.press("Escape")
    keys.press("n")
    assert chosen(sheet) == "R1"
    assert [one for one in written(job) if one[1] == "decided"] == [
        ("C1", "decided", "keep"),
        ("C2", "decided", "replace"),
        ("V1", "decided", "keep"),
    ]


def test_keys_can_be_switched_off_and_a_field_keeps_its_letters(sheet: Page, job: Job) -> None:
    sheet.get_by_role("button", name="Keys on the sheet").click()
    sheet.locator(f"#p-{position_of(job, 'C2').pk} td").first.click()
    sheet.keyboard.press("r")
    sheet.get_by_role("button", name="Large type").click()
    sheet.reload()
    expect(sheet.get_by_role("button", name="Keys on the sheet")).to_have_attribute("aria-pressed", "false")
    expect(sheet.locator("html.large-type")).to_be_attached()
    assert sheet.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert not job.entries.exists()


def test_lines_wait_for_the_network_and_are_written_once(sheet: Page, job: Job) -> None:
    """The first answer is lost after the shop wrote the line; the page is loaded anew; one line is removed, one changed."""
    waiting = sheet.locator("[data-line-waiting]")

    def lose_the_answer(route: Route) -> None:
        route.fetch()
        route.abort()

    address = f"**{reverse('jobs:line', args=[job.pk])}"
    sheet.route(address, lose_the_answer, times=1)
    type_line(sheet, "C1 red one;l")
    expect(waiting).to_contain_text("1 line waits for the network")
    sheet.context.set_offline(True)
    for line in ("C2 black;r", "R1'half;r", "C3 blue;l", "R1;l"):
        type_line(sheet, line)
    expect(waiting).to_contain_text("5 lines wait for the network")
    waiting.get_by_role("button", name="Remove the line at C3").click()
    expect(waiting).to_contain_text("4 lines wait for the network")
    waiting.get_by_role("button", name="Change the line at C2").click()
    sheet.keyboard.type(" burst")
    sheet.keyboard.press("Enter")
    sheet.route(address, lambda route: route.abort())
    sheet.context.set_offline(False)
    sheet.reload()
    expect(waiting).to_contain_text("4 lines wait for the network")
    sheet.unroute(address)
    sheet.evaluate("dispatchEvent(new Event('online'))")
    expect(waiting).to_contain_text("1 line was not written")
    expect(waiting).to_contain_text("half")
    assert written(job) == [
        ("C1", "found", "red one"),
        ("C1", "decided", "keep"),
        ("C2", "found", "black"),
        ("C2", "decided", "replace"),
    ]
    assert job.entries.get(position__designator="C2", kind="decided").note == "burst"


def test_lines_of_one_person_are_never_sent_by_another(
    sheet: Page, job: Job, sign_in: Callable, colleague: Staff, owner: Staff
) -> None:
    waiting = sheet.locator("[data-line-waiting]")
    sheet.context.clear_cookies()
    type_line(sheet, "C1 red")
    expect(waiting).to_contain_text("You are signed out.")
    sign_in(sheet, colleague)
    sheet.evaluate("dispatchEvent(new Event('online'))")
    sheet.wait_for_timeout(200)
    sheet.reload()
    expect(waiting).to_contain_text("1 line waits in this browser until owner signs in.")
    assert not job.entries.exists()
    sign_in(sheet, owner)
    sheet.reload()
    expect(sheet.locator("[data-line-said]")).to_contain_text("C1: found: red.")
    assert [entry.person for entry in job.entries.all()] == [owner]


def test_what_another_wrote_is_shown_beside_what_was_typed(sheet: Page, job: Job, colleague: Staff) -> None:
    log.record_found(position_of(job, "C1"), "brown one", author(colleague))
    type_line(sheet, "C1 red one")
    said = sheet.locator("[data-line-said]")
    expect(said).to_contain_text("Benno Tarnwick wrote “found: brown one”")
    expect(said).to_contain_text("You typed C1 red one. Enter sends it again.")
    expect(sheet.locator(f"#p-{position_of(job, 'C1').pk}")).to_contain_text("brown one")
    sheet.keyboard.press("Enter")
    expect(said).to_contain_text("C1: found: red one.")
    assert [text for _, _, text in written(job)] == ["brown one", "red one"]
