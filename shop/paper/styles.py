"""Type: the embedded fonts and the few ways in which text is set. Sizes in points."""

import unicodedata
from bisect import bisect_right
from functools import cache
from itertools import groupby
from pathlib import Path

from reportlab.lib.enums import TA_CENTER, TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONTS = Path(__file__).parent / "fonts"
BODY = "DejaVuSansCondensed"
BOLD = "DejaVuSansCondensed-Bold"
ALIGN = {"left": TA_LEFT, "right": TA_RIGHT, "centre": TA_CENTER}


@cache
def register_fonts() -> None:
    """The library's own fonts lack the ohm sign and print boxes for č ł ő, so ours are embedded."""
    for name in (BODY, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(FONTS / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=BOLD, italic=BODY, boldItalic=BOLD)
    pdfmetrics.registerFontFamily(BOLD, normal=BOLD, bold=BOLD, italic=BOLD, boldItalic=BOLD)


@cache
def style(size: float = 9, bold: bool = False, align: str = "left", after: float = 0, indent: float = 0) -> ParagraphStyle:
    register_fonts()
    return ParagraphStyle(
        f"{size}-{bold}-{align}-{after}-{indent}",
        fontName=BOLD if bold else BODY,
        fontSize=size,
        leading=round(size * 1.28, 2),
        alignment=ALIGN[align],
        bulletFontName=BODY,
        bulletFontSize=size,
        spaceAfter=after,
        leftIndent=indent,
        allowWidows=0,
        allowOrphans=0,
    )


def width_of(text: str, size: float, bold: bool = False) -> float:
    register_fonts()
    return pdfmetrics.stringWidth(text, BOLD if bold else BODY, size)


@cache
def _inked() -> frozenset[int]:
    """Code points that both weights can draw."""
    register_fonts()
    return frozenset(pdfmetrics.getFont(BODY).face.charToGlyph) & frozenset(pdfmetrics.getFont(BOLD).face.charToGlyph)


@cache
def _alike(character: str) -> str:
    """Letters that mean the same and can be drawn (`Ａ` is `A`); empty where the fonts have none."""
    if ord(character) in _inked():
        return character
    alike = unicodedata.normalize("NFKC", character)
    return alike if all(ord(c) in _inked() for c in alike) else ""


@cache
def _as_it_is(character: str) -> bool:
    return character == "\n" or ord(character) in _inked()


# So many signs that the fonts lack are told by number, in a row and in one text.
LONGEST_RUN, MOST_STAND_INS = 24, 36
A_HAIR = 0.01


def readable(text: str) -> str:
    """The text with a stand-in for what the fonts lack, its number in Unicode (`[U+6F22 U+5B57]`): a box would say nothing."""
    if text.isascii() or all(map(_as_it_is, text)):
        return text
    parts, left = list[str](), MOST_STAND_INS
    for is_drawn, run in groupby(text, lambda c: c == "\n" or bool(_alike(c))):
        if is_drawn:
            parts += [c if c == "\n" else _alike(c) for c in run]
        else:
            signs = list(run)
            parts.append(_stand_in(signs, min(left, LONGEST_RUN)))
            left = max(left - len(signs), 0)
    return "".join(parts)


def _stand_in(signs: list[str], most: int) -> str:
    """`[U+6F22 U+5B57]`, and how many more there are where a page would be filled with numbers that nobody reads."""
    if not most:
        return "[…]"
    told, more = [f"U+{ord(c):04X}" for c in signs[:most]], len(signs) - most
    return f"[{' '.join([*told, f'and {more} more'] if more > 0 else told)}]"


@cache
def _is_set(character: str) -> bool:
    return ord(character) in pdfmetrics.getFont(BODY).face.charToGlyph and (
        unicodedata.bidirectional(character) not in ("R", "AL", "AN")
    )


def can_print(text: str) -> bool:
    """Whether the fonts have every character, and none runs from right to left: the library can't set those."""
    register_fonts()
    return all(map(_is_set, text))


def fitted(text: str, room: float, size: float, smallest: float, bold: bool = False) -> tuple[str, float]:
    """The text and the size at which it fits `room` points; what doesn't fit at `smallest` is cut, with an ellipsis."""
    text = readable(text)
    wide = width_of(text, size, bold)
    if wide <= room:
        return text, size
    size = max(smallest, size * room / wide)
    if width_of(text, size, bold) <= room + A_HAIR:
        return text, size
    # Halved again and again: dropping sign after sign took a long text a quarter of a second.
    kept = bisect_right(range(len(text)), room + A_HAIR, key=lambda count: width_of(_cut(text, count), size, bold)) - 1
    return _cut(text, kept) if kept > 0 else "", size


def _cut(text: str, count: int) -> str:
    return text[:count].rstrip() + "…"
