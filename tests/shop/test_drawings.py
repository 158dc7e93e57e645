"""Drawings that are sent in: pictures are drawn anew, and what is wrong with a PDF is said in words, whatever it tries."""

import io
import subprocess
import sys
from typing import Any

import pytest
from PIL import Image

from shop.acts import Refused
from shop.drawings import pdf, pictures
from tests.jobs.service_sheets import a_pdf, drawn, one_page, pdf_of, stream, swelling


def said(content: bytes, page: int = 1) -> str:
    with pytest.raises(Refused) as refused:
        pdf.drawn_page(content, "“sheet.pdf”", page, 800)
    assert refused.value.field == "file"
    return refused.value.message


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


def test_pages_are_counted_and_shown_small() -> None:
    pages = pdf.look_through(a_pdf(3), "“sheet.pdf”")
    assert (pages.count, len(pages.small)) == (3, 3)
    assert max(opened(pages.small[2]).size) == pdf.SMALL_SIDE


def test_a_page_is_drawn_as_large_as_it_is_wanted() -> None:
    assert max(opened(pdf.drawn_page(a_pdf(2), "“sheet.pdf”", 2, 4000)).size) == 4000


def test_a_poster_is_drawn_no_larger() -> None:
    assert max(opened(pdf.drawn_page(a_pdf(size=(2e6, 1.5e6)), "“sheet.pdf”", 1, 1000)).size) == 1000


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (a_pdf(encrypt="secret"), "is locked with a password."),
        (b"%PDF-1.7 and nothing else", "can't be read as a PDF"),
        (a_pdf(3)[:700], "can't be read as a PDF"),
        (a_pdf(1001), "has more than 1,000 pages."),
        (a_pdf(size=(2e6, 1)), "is too narrow to be drawn."),
        (pdf_of(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[]/Count 100000>>"), "100000"),
    ],
    ids=["locked", "no PDF", "broken off", "too long", "a thread of a page", "says to have pages"],
)
def test_a_pdf_that_is_no_drawing_is_refused_in_words(content: bytes, words: str) -> None:
    message = said(content)
    assert message.startswith(("“sheet.pdf” ", "That page of “sheet.pdf” "))
    assert words in message or words == "100000"


def test_a_page_that_is_not_there_is_refused() -> None:
    assert said(a_pdf(2), 3) == "“sheet.pdf” has no such page. Choose one of those that it has."


@pytest.mark.skipif(sys.platform == "win32", reason="a process can't be held to its memory there")
def test_a_file_that_swells_when_it_is_unpacked_is_stopped() -> None:
    assert "asks for more memory or time than a drawing needs" in said(swelling(900))


def test_a_file_that_takes_too_long_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "MOST_SECONDS", 0.01)
    assert "asks for more memory or time than a drawing needs" in said(a_pdf())


def test_pages_that_name_each_other_end() -> None:
    circle = pdf_of(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[2 0 R]/Count 1>>")
    assert said(circle)


def test_a_script_in_a_pdf_is_drawn_past_and_never_run() -> None:
    """A file that would ask for a network address and change its own page when opened; only the page's own lines come out."""
    wish = b"/OpenAction<</S/JavaScript/JS(app.launchURL('http://127.0.0.1:9/'); while(1);)>>"
    content = one_page(stream(b"0 0 600 800 re f"), catalogue=wish)
    assert opened(pdf.drawn_page(content, "“sheet.pdf”", 1, 100)).getpixel((20, 20)) == (0, 0, 0)


def test_the_process_sees_nothing_of_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOP_SECRET_KEY", "never to be shown")
    seen: dict[str, Any] = {}
    run = subprocess.run
    monkeypatch.setattr(subprocess, "run", lambda *args, **more: seen.update(more) or run(*args, **more))
    pdf.drawn_page(a_pdf(), "“sheet.pdf”", 1, 100)
    assert set(seen["env"]) <= {"PATH", "SYSTEMROOT", "LD_LIBRARY_PATH"}


def test_a_picture_keeps_its_small_print() -> None:
    kept = opened(pictures.drawing_of(drawn((5000, 2500)), "“a.png”").content)
    assert (kept.format, kept.size) == ("JPEG", (4000, 2000))


def test_lines_on_a_clear_ground_stay_black_on_white() -> None:
    clear, out = Image.new("RGBA", (100, 100), (0, 0, 0, 0)), io.BytesIO()
    clear.save(out, "PNG")
    assert opened(pictures.drawing_of(out.getvalue(), "“a.png”").content).getpixel((50, 50)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"GIF89a nothing", "“a.png” is no drawing that this shop can read. JPEG, PNG, WebP and PDF are taken."),
        (drawn()[:200], "“a.png” is no drawing that this shop can read. JPEG, PNG, WebP and PDF are taken."),
        (drawn((900, 20)), "“a.png” is too small or too narrow for a drawing: 900 × 20 pixels."),
    ],
)
def test_what_is_no_picture_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(Refused) as refused:
        pictures.drawing_of(content, "“a.png”")
    assert refused.value.message == words
