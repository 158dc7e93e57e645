"""What holds for every paper: text can be read back, pages are counted, bytes are stable, hostile text does nothing."""

import time
from dataclasses import replace
from typing import Any

import pytest

from shop.paper.frame import Heading, build
from shop.paper.styles import BODY, BOLD
from tests.paper import samples
from tests.paper.papers import ALL, FRAMED, LONG, on_letterhead, page_texts, reader, text_of, with_texts

# Page sizes in points of 1/72 inch: ISO 216 (A4, 210 x 297 mm) and ANSI/ASME Y14.1 (Letter, 8.5 x 11 in).
SIZES = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}
HOSTILE = {
    "markup": '<img src="/etc/passwd"/> <b>bold</b> &amp; <para> ]]> <link href="file:///etc/passwd">x</link>',
    "no space": "x" * 5000,
    "wide": "W" * 300,
    "words": "word " * 2000,
    "lines": "\n".join(f"l{i}" for i in range(3000)),
    "controls": "a\x00b\x07\x1bc\u202edlrow\u2066\ufeff\ud800 z",
    "strange": "😀 漢字 עברית العربية e\u0301 \U0010ffff",
    "empty": "",
}


def _fonts(page: Any) -> list[Any]:
    return list(page["/Resources"]["/Font"].values())


@pytest.mark.parametrize("name", ALL)
def test_two_drawings_of_the_same_data_are_the_same_bytes(name: str) -> None:
    draw, sample = ALL[name]
    assert draw(sample()) == draw(sample())


@pytest.mark.parametrize("name", ALL)
def test_the_file_says_what_it_is_and_embeds_its_fonts(name: str) -> None:
    draw, sample = ALL[name]
    pdf = reader(draw(sample()))
    assert pdf.metadata is not None
    assert pdf.metadata.title
    assert pdf.metadata.author == samples.HEAD.shop_name
    assert str(pdf.root_object["/Lang"]) == "en"
    fonts = {font.get_object()["/BaseFont"].split("+")[-1] for page in pdf.pages for font in _fonts(page)}
    assert fonts <= {BODY, BOLD}


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", FRAMED)
def test_pages_have_the_size_of_the_shops_paper(name: str, paper: str) -> None:
    draw, sample = FRAMED[name]
    for page in reader(draw(on_letterhead(sample(), paper=paper))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(SIZES[paper], abs=0.01)


@pytest.mark.parametrize("name", LONG)
def test_long_papers_count_their_pages_and_repeat_head_and_column_heads(name: str) -> None:
    draw, sample = LONG[name]
    texts = page_texts(draw(sample(200)))
    assert len(texts) > 3
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text
        assert samples.HEAD.registration in text
        assert samples.HEAD.shop_name in text
    heads = [
        heads for heads in (("position",), ("day", "charged"), ("your code", "packs")) if all(head in texts[1] for head in heads)
    ]
    assert heads, "the second page has no column heads"
    assert all(head in texts[2] for head in heads[0])


@pytest.mark.parametrize("name", FRAMED)
def test_no_page_is_blank_but_for_its_frame(name: str) -> None:
    draw, sample = FRAMED[name]
    framed_only = len(text_of(build(samples.HEAD, Heading("Estimate", "J-2031-0042 / 2"), [])).split())
    for text in page_texts(draw(sample()))[1:]:
        assert len(text.split()) > framed_only + 3


@pytest.mark.parametrize("name", ["claim check", "estimate", "summary", "warranty", "invoice", "credit note", "statement"])
def test_names_and_signs_can_be_read_back(name: str) -> None:
    draw, sample = FRAMED[name]
    text = text_of(draw(sample()))
    assert "Żaneta Kowalczyk-Ólafsdóttir" in text
    assert "Μαρίνα Street" in text
    assert samples.OWNER.email in text


def test_ohm_and_micro_can_be_read_back() -> None:
    text = text_of(FRAMED["summary"][0](samples.summary()))
    assert "47 kΩ ±10 %" in text
    assert "0.01 µF 630 V film" in text


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.parametrize("name", ALL)
def test_hostile_text_in_every_field_is_only_text(name: str, text: str) -> None:
    draw, sample = ALL[name]
    pdf = reader(draw(with_texts(sample(), text)))
    for page in pdf.pages:
        assert len(page.images) == 0
        links = [note.get_object().get("/A", {}).get("/URI", "") for note in page.get("/Annots", [])]
        assert not [link for link in links if "passwd" in str(link)]


@pytest.mark.parametrize("text", ["x" * 200_000, HOSTILE["markup"] * 200, "Ω" * 5000], ids=["no space", "markup", "ohms"])
@pytest.mark.parametrize("name", ["claim check", "estimate", "summary", "invoice"])
def test_a_hostile_fault_costs_less_than_a_second(name: str, text: str) -> None:
    draw, sample = FRAMED[name]
    data = with_fault(sample(), text)
    begun = time.process_time()
    draw(data)
    assert time.process_time() - begun < 1


def with_fault(data: Any, fault: str) -> Any:
    return replace(data, fault=fault)


def test_markup_is_printed_as_it_was_typed() -> None:
    text = text_of(FRAMED["claim check"][0](with_fault(samples.claim_check(), '<img src="/etc/passwd"> & <b>loud</b>')))
    assert '“<img src="/etc/passwd"> & <b>loud</b>”' in text


def test_a_text_direction_trick_cannot_turn_the_words_round() -> None:
    assert "paid 10 not 01" in text_of(FRAMED["invoice"][0](with_fault(samples.invoice(), "paid 10\u202e not 01")))


@pytest.mark.parametrize("locale", ["pl_PL", "fr_FR", "ja_JP", "ar_EG", "nonsense", ""])
@pytest.mark.parametrize("name", FRAMED)
def test_every_locale_prints_even_one_nobody_knows(name: str, locale: str) -> None:
    draw, sample = FRAMED[name]
    assert draw(on_letterhead(sample(), locale=locale)).startswith(b"%PDF")
