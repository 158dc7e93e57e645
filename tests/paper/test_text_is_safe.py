"""The one door for typed text: what it keeps, what it drops, how long it may take."""

import time
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.paper.text import address_markup, break_words, clean, markup, plain


def test_markup_says_what_was_typed_and_does_nothing() -> None:
    assert markup('<img src="/etc/passwd"> & <b>') == '&lt;img src="/etc/passwd"&gt; &amp; &lt;b&gt;'


@pytest.mark.parametrize("bad", ["\x00", "\x07", "\x1b", "\u202e", "\u2066", "\u200f", "\ufeff", "\ud800"])
def test_control_and_direction_characters_are_dropped(bad: str) -> None:
    assert clean(f"a{bad}b") == "ab"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("漢字", "[U+6F22 U+5B57]"),
        ("Ａｄａ", "Ada"),
        ("a\ue000b\uffffc", "a[U+E000]b[U+FFFF]c"),
        ("O\u031bng Nguyễn Thị Hà", "Ơng Nguyễn Thị Hà"),
        ("x\u0301", "x\u0301"),
    ],
)
def test_what_the_fonts_lack_is_shown_by_a_stand_in_and_never_lost(typed: str, shown: str) -> None:
    assert markup(typed) == shown


@pytest.mark.parametrize(
    "name",
    [
        "Ελευθερία Παπαδοπούλου",
        "Жанна Ґрещук-Ўласава",
        "Żółć Gęślą Jaźń",
        "İğdır Şişli Çığ",
        "Nguyễn Thị Phương Thảo",
        "Ólafsdóttir Þóra Æð",
        "Đorđević Šćepan",
    ],
)
def test_names_of_our_customers_need_no_stand_in(name: str) -> None:
    assert markup(name) == name


def test_letters_signs_and_line_breaks_are_kept() -> None:
    typed = "Żaneta Ólafsdóttir, Μαρίνα, Жанна: 4,7 kΩ ±5 %, 50 µF\nsecond line"
    assert clean(typed) == typed


def test_a_letter_with_its_accent_apart_is_put_together() -> None:
    """Unicode Standard Annex 15, form C: U+0065 U+0301 is U+00E9."""
    assert clean("e\u0301") == "é"


def test_what_is_cut_ends_in_an_ellipsis() -> None:
    assert clean("x" * 50, 10) == "x" * 9 + "…"
    assert clean("x" * 10, 10) == "x" * 10


def test_line_breaks_cannot_blow_a_frame_up() -> None:
    assert clean("\n".join("abcdef"), most_lines=3) == "a\nb\nc d e f"


def test_long_words_are_broken_at_thirty() -> None:
    assert break_words("x" * 65) == f"{'x' * 30} {'x' * 30} xxxxx"
    assert break_words("x" * 30) == "x" * 30


def test_only_web_addresses_become_links() -> None:
    assert address_markup('https://w.example/e/1?a="b"&c').startswith("<link href='https://w.example/e/1?a=\"b\"&amp;c'>")
    assert address_markup("javascript:alert(1)") == "javascript:alert(1)"
    assert address_markup("file:///etc/passwd") == "file:///etc/passwd"


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_markup_of_anything_is_well_formed_and_holds_only_line_breaks(text: str) -> None:
    tree = ElementTree.fromstring(f"<p>{markup(text)}</p>")
    assert {element.tag for element in tree.iter()} <= {"p", "br"}


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_one_line_stays_one_line(text: str) -> None:
    assert "\n" not in plain(text)
    assert plain(plain(text)) == plain(text)


def test_two_hundred_thousand_characters_take_no_time() -> None:
    begun = time.process_time()
    markup("x" * 200_000)
    assert time.process_time() - begun < 0.2
