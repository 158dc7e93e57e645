"""The service sheet in Chromium: positions placed by taps and by the keyboard alone; the next mark is scrolled to."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from jobs.models import SheetPage, SheetPlace, Stage
from shop.models import Staff
from tests import builders as make
from tests.browser.driver import PHONE
from tests.jobs.service_sheets import a_page

# What the page's scripts do, whose acts other tests send to either database.
pytestmark = [pytest.mark.looks, pytest.mark.django_db(transaction=True)]
NEAR = 40
"""Ten-thousandths by which a tap on a whole pixel may miss."""


@pytest.fixture
def sheet(transactional_db: None) -> SheetPage:
    return a_page(make.a_model())


def place_of(designator: str) -> tuple[int, int]:
    place = SheetPlace.objects.get(designator=designator)
    return place.x, place.y


def opened(page: Page, sheet: SheetPage) -> Page:
    page.goto(reverse("jobs:service_sheet", args=[sheet.pk]))
    return page


def tap(page: Page, across: float, down: float) -> None:
    drawing = page.locator(".drawing-tap")
    box = drawing.bounding_box()
    drawing.click(position={"x": box["width"] * across, "y": box["height"] * down})


def test_every_tap_places_one_position_and_the_keyboard_corrects_it(
    device: Page, sign_in: Callable, owner: Staff, sheet: SheetPage
) -> None:
    page = opened(sign_in(device, owner), sheet)
    chosen = page.get_by_label("Position", exact=True)
    for number, following in enumerate(("C2", "C3", "R1", "V1"), 1):
        tap(page, number / 6, 0.5)
        expect(chosen).to_have_value(following)
    assert place_of("C3") == (pytest.approx(5000, abs=NEAR), pytest.approx(5000, abs=NEAR))
    drawing = page.locator(".drawing-tap")
    page.get_by_role("link", name="Move C3").click()
    expect(drawing).to_be_focused()
    x, y = place_of("C3")
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowDown", "Enter"):
        page.keyboard.press(key)
    expect(page.get_by_text("C3 is moved.")).to_be_visible()
    assert place_of("C3") == (x + 50, y + 250)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Every position has a place")).to_be_visible()
    assert place_of("V1") == (x + 50, y + 250)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_without_scripts_a_tap_loads_the_page_with_the_next_position(
    open_device: Callable[..., Page], sign_in: Callable, owner: Staff, sheet: SheetPage
) -> None:
    page = opened(sign_in(open_device(PHONE, java_script_enabled=False), owner), sheet)
    tap(page, 0.2, 0.5)
    expect(page.get_by_text("C1 has its place.")).to_be_visible()
    assert place_of("C1") == (pytest.approx(2000, abs=NEAR), pytest.approx(5000, abs=NEAR))
    page.get_by_label("From the left").fill("30")
    page.get_by_label("From the top").fill("40")
    page.keyboard.press("Enter")
    expect(page.get_by_text("C2 has its place.")).to_be_visible()
    assert place_of("C2") == (3000, 4000)


def test_the_next_mark_is_scrolled_to_and_leads_to_its_position(
    phone: Page, sign_in: Callable, owner: Staff, transactional_db: None
) -> None:
    job = make.a_job(Stage.REPAIRING)
    a_page(job.radio.model, C1=(9500, 9500), C2=(1000, 1000))
    page = sign_in(phone, owner)
    page.goto(reverse("jobs:job_service_sheet", args=[job.pk]) + "?zoom=2200")
    mark = page.locator("[data-next]")
    page.get_by_role("link", name="Show the next: C1").click()
    expect(mark).to_be_focused()
    expect(mark).to_be_in_viewport()
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{reverse('jobs:position', args=[make.position_of(job, 'C1').pk])}")
