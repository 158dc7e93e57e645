"""Photos on paper: small, side by side, each with its caption. A picture that can't be read leaves its caption and a word."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO

from PIL import Image as Pixels
from PIL import UnidentifiedImageError
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Image, Table

from shop.paper.tables import laid_out, say

A_ROW = 3
TALLEST = 48 * mm
MOST_PIXELS = 700
MISSING = "The picture's file is missing."


@dataclass(frozen=True, slots=True)
class PhotoOnPaper:
    """`content` is a JPEG, empty where its file is gone."""

    content: bytes = field(repr=False)
    caption: str = ""


def small(content: bytes) -> tuple[BytesIO, int, int] | None:
    """A JPEG with its width and height, None for what is no picture.

    A telephone's picture in its full size would make the paper too heavy to send.
    """
    try:
        with Pixels.open(BytesIO(content)) as pixels:
            pixels.thumbnail((MOST_PIXELS, MOST_PIXELS))
            made = BytesIO()
            pixels.convert("RGB").save(made, "JPEG", quality=80)
            return made, *pixels.size
    except (UnidentifiedImageError, OSError, ValueError):
        return None


def _cell(photo: PhotoOnPaper, width: float) -> list[Flowable]:
    made = small(photo.content)
    caption = say(photo.caption, 7.5, limit=160)
    if made is None:
        return [say(MISSING, 8), caption]
    file, wide, high = made
    scale = min(width / wide, TALLEST / high)
    file.seek(0)
    return [Image(file, wide * scale, high * scale, hAlign="LEFT"), caption]


def photos(shown: Sequence[PhotoOnPaper], room: float) -> list[Table]:
    """One table a row of three, so that a row is never parted."""
    width = room / A_ROW
    rows = [shown[start : start + A_ROW] for start in range(0, len(shown), A_ROW)]
    commands = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]
    return [
        laid_out([[_cell(photo, width - 4 * mm) for photo in row] + [""] * (A_ROW - len(row))], [width] * A_ROW, commands)
        for row in rows
    ]
