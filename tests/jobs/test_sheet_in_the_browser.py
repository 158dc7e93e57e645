"""The sheet in Chromium, on both widths: a row opens in its place, and after an entry the page is back at that row."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from jobs.models import Job, Stage
from shop.models import Staff
from tests.builders import a_job, position_of

# What the page's scripts do, whose acts other tests send to either database.
pytestmark = [pytest.mark.looks, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def job(transactional_db: None) -> Job:
    return a_job(Stage.REPAIRING)


def narrow_enough(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def test_a_row_is_entered_without_leaving_the_sheet(device: Page, sign_in: Callable, owner: Staff, job: Job) -> None:
    place = position_of(job, "R1")
    sign_in(device, owner).goto(reverse("jobs:change_log", args=[job.pk]))
    device.locator(f"#p-{place.pk}").get_by_text("Enter").click()
    form = device.get_by_role("form", name="Entry on R1")
    form.get_by_label("Measured").fill("310K")
    form.get_by_label("Decision").select_option("replace")
    assert narrow_enough(device)
    form.get_by_role("button", name="Write on R1").click()
    device.wait_for_url(f"**#p-{place.pk}")
    row = device.locator(f"#p-{place.pk}")
    assert "40.9 % above the 220 kΩ called for" in row.inner_text()
    assert row.evaluate("row => row.getBoundingClientRect().top < innerHeight")


def test_a_doubtful_value_is_asked_about_in_the_row(device: Page, sign_in: Callable, owner: Staff, job: Job) -> None:
    place = position_of(job, "C2")
    sign_in(device, owner).goto(reverse("jobs:change_log", args=[job.pk]))
    device.locator(f"#p-{place.pk}").get_by_text("Enter").click()
    form = device.get_by_role("form", name="Entry on C2")
    form.get_by_label("Found").fill("black, unmarked")
    form.get_by_label("Measured").fill("50")
    form.get_by_role("button", name="Write on C2").click()
    device.get_by_role("button", name="50 pF").wait_for()
    assert narrow_enough(device)
    device.get_by_role("button", name="50 pF").click()
    device.wait_for_url(f"**#p-{place.pk}")
    assert "black, unmarked" in device.locator(f"#p-{place.pk}").inner_text()
