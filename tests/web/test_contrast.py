"""Every pair of colours that carries text or a control's edge, in both schemes, by WCAG's own formula.

Source: WCAG 2.2, definitions of "relative luminance" and "contrast ratio" (https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio),
success criteria 1.4.3 (4.5:1 for text) and 1.4.11 (3:1 for controls and graphics).
"""

import re
from pathlib import Path

import pytest
from django.conf import settings

SHEET = Path(settings.BASE_DIR, "shop", "static", "shop", "css", "tokens.css").read_text(encoding="utf-8")
GROUNDS = ["paper", "leaf"]
TEXT = [(ink, ground) for ink in ("ink", "ink-soft", "act", "act-deep", "no", "yes", "margin") for ground in GROUNDS]
TEXT += [(mark, f"{mark}-ground") for mark in ("yes", "warn", "no", "wait", "note")]
TEXT += [
    ("ink", "warn-ground"),
    ("ink", "no-ground"),
    ("ink-soft", "warn-ground"),
    ("act", "note-ground"),
    ("act", "warn-ground"),
]
TEXT += [("act-ink", "act"), ("act-ink", "act-deep"), ("band-ink", "band"), ("band-ink", "band-tab"), ("band-soft", "band")]
TEXT += [("tag-ink", "tag"), ("ink-soft", "note-ground")]
EDGES = [(edge, ground) for edge in ("edge", "focus", "margin", "bar-spent") for ground in GROUNDS]
EDGES += [
    ("band-edge", "band"),
    ("band-focus", "band"),
    ("band-focus", "band-tab"),
    ("tag-edge", "tag"),
    ("focus", "warn-ground"),
]


def block(selector: str) -> dict[str, str]:
    body = SHEET.split(selector + " {", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", body))


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("selector", [":root", ':root[data-theme="dark"]'])
def test_text_and_edges_stand_out(selector: str) -> None:
    colours = block(selector)
    weak = [
        (*pair, need) for pairs, need in ((TEXT, 4.5), (EDGES, 3.0)) for pair in pairs if contrast(*map(colours.get, pair)) < need
    ]
    assert weak == []


def test_the_reader_s_dark_is_the_system_s_dark() -> None:
    assert block(':root[data-theme="dark"]') == block(':root:not([data-theme="light"])')


def test_the_formula_gives_the_published_extremes() -> None:
    """WCAG 2.2: ratios range from 1:1 to 21:1, black on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1
