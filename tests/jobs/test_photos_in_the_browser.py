"""Photos on a telephone: chosen and taken, sent one by one over a network that goes away, the refused one named."""

import io
from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, Route

from jobs.models import Job, Photo
from shop.models import Staff
from tests.builders import a_job

# What the page's scripts do, whose acts other tests send to either database.
pytestmark = [pytest.mark.looks, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def job(transactional_db: None) -> Job:
    return a_job()


def a_file(name: str, content: bytes | None = None) -> Any:
    made = io.BytesIO()
    Image.new("RGB", (640, 480), "olive").save(made, "JPEG")
    return {"name": name, "mimeType": "image/jpeg", "buffer": content or made.getvalue()}


def test_photos_go_one_by_one_and_only_the_bad_one_stays_behind(phone: Page, sign_in: Callable, owner: Staff, job: Job) -> None:
    tries: list[str] = []

    def lose_the_second(route: Route) -> None:
        """The photo arrives, but the answer doesn't: the next try must not keep it twice."""
        tries.append(route.request.method)
        if len(tries) == 2:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    sign_in(phone, owner).goto(reverse("jobs:photos", args=[job.pk]))
    # A page's own network error is what is looked for here.
    phone.route("**/photos/send/", lose_the_second)
    phone.locator("#id_photos").set_input_files(
        [a_file("left side.jpg"), a_file("right side.jpg"), a_file("sheet.jpg", b"%PDF-1.4")]
    )
    phone.get_by_label("or take one with the camera").set_input_files(a_file("plate.jpg"))
    phone.get_by_label("Caption").first.fill("as it stood on the counter")
    phone.get_by_label("Its own caption").nth(3).fill("serial plate")
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    phone.get_by_role("button", name="Keep these photos").click()
    phone.get_by_role("button", name="Send these again").wait_for()
    assert phone.get_by_text("✓ kept").count() == 3
    assert "“sheet.jpg” is no picture we can read." in phone.locator(".photo-refused").inner_text()
    assert len(tries) == 5
    phone.get_by_role("button", name="Leave out sheet.jpg").click()
    phone.locator(".photos figure").nth(2).wait_for()
    assert sorted(Photo.objects.values_list("caption", flat=True)) == [
        "as it stood on the counter",
        "as it stood on the counter",
        "serial plate",
    ]
    # And one by itself, with the arrow keys.
    phone.locator(".photos a").first.click()
    phone.get_by_text("1 of 3").wait_for()
    phone.wait_for_load_state("load")
    phone.keyboard.press("ArrowRight")
    phone.get_by_text("2 of 3").wait_for()
    phone.wait_for_load_state("load")
    phone.get_by_label("Why it is set aside").press("ArrowLeft")
    phone.keyboard.press("Tab")
    assert "2 of 3" in phone.locator("main").inner_text()
