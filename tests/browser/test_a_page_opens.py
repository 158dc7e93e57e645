from collections.abc import Callable

from playwright.sync_api import Page

from shop.models import Staff


def test_the_sign_in_page_opens_on_every_width(device: Page) -> None:
    answer = device.goto("/")
    assert answer is not None
    assert answer.status == 200
    assert device.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_signed_in_person_is_known(desktop: Page, owner: Staff, sign_in: Callable[[Page, Staff], Page]) -> None:
    sign_in(desktop, owner).goto("/")
    assert desktop.get_by_text(str(owner)).count() > 0
