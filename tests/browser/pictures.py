"""Takes the README's pictures from a running demo (`python3 manage.py demo`): `.venv/bin/python -m tests.browser.pictures`."""

import io
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from shop.setup.programs import find_chromium
from tests.browser.chromium import ARGUMENTS

FOLDER = Path(__file__).resolve().parents[2] / "shop" / "demo" / "pictures"
LOGIN, PASSWORD = "owner", "warm-heater-1958"
SIZES = {
    "desktop": {"width": 1280, "height": 860},
    "tall": {"width": 1280, "height": 2160},
    "phone": {"width": 390, "height": 844},
}
# Name of the picture, size, and how to get there: an address, or the words of links to follow from the job list.
PICTURES = (
    ("today", "desktop", "/"),
    ("job", "desktop", "/jobs/42/"),
    ("change-log", "desktop", "/jobs/31/log/"),
    ("change-log-phone", "phone", "/jobs/31/log/"),
    ("benches", "desktop", "/jobs/benches/"),
    ("drawers", "desktop", "/drawers/"),
    ("colours", "desktop", "/drawers/colours/?scheme=body_end_dot&c1=red&c2=green&c3=orange"),
    ("cabinets", "desktop", "/drawers/cabinets/?q=.047"),
    ("basket", "desktop", "/house/buy/basket/"),
    ("alternatives", "tall", "/jobs/35/estimate/"),
    ("line-proof", "tall", "/money/bill-lines/290/"),
    ("service-sheet", "tall", "/jobs/31/service-sheet/"),
    ("in-pictures", "tall", "/house/owner/pictures/"),
    ("photos", "desktop", "/jobs/31/photos/"),
    ("claim", "tall", "/jobs/13/claim/"),
    ("outlook", "tall", "/jobs/39/outlook/"),
    ("supply", "tall", "/jobs/42/supply/?reservoir=100+µF"),
)


def sign_in(page: Page, address: str) -> None:
    page.goto(f"{address}/sign-in/")
    page.fill("[name=username]", LOGIN)
    page.fill("[name=password]", PASSWORD)
    page.click("main button")


def take(browser: Browser, address: str, name: str, size: str, path: str) -> None:
    page = browser.new_page(viewport=SIZES[size])  # type: ignore[arg-type]
    sign_in(page, address)
    page.goto(address + path)
    shot = Image.open(io.BytesIO(page.screenshot()))
    # A palette keeps a page of flat colours small.
    shot.convert("RGB").quantize(64, dither=Image.Dither.NONE).save(FOLDER / f"{name}.png", optimize=True)
    page.close()


def main(address: str) -> None:
    FOLDER.mkdir(exist_ok=True)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        for name, size, path in PICTURES:
            take(browser, address, name, size, path)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "http://127.0.0.1:8017")
