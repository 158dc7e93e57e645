"""Drawings as they are kept: a JPEG large enough for the small print of a circuit, drawn anew so that nothing else is kept."""

import io
import secrets

from PIL import Image

from shop.acts import Refused
from shop.pictures import BOMB, BROKEN, Picture, is_too_large_webp, is_too_slow, most_pixels, redrawn

LONGEST_SIDE = 4000
FEWEST_PIXELS = 60
QUALITY = 85


def drawing_of(content: bytes, name: str) -> Picture:
    """The picture, upright and no side longer than 4,000 pixels; refuses what is none, naming the file."""

    def check(image: Image.Image) -> None:
        size = f"{image.width} × {image.height}"
        if image.width * image.height > most_pixels(image):
            raise Refused(f"{name} has too many pixels: {size}. Make it smaller, or grey where it is in colour.", field="file")
        if min(image.size) < FEWEST_PIXELS:
            raise Refused(f"{name} is too small or too narrow for a drawing: {size} pixels.", field="file")

    if is_too_large_webp(content[:30]):
        raise Refused(f"{name} has too many pixels. Make it smaller, or send it as JPEG.", field="file")
    if is_too_slow(content):
        raise Refused(f"{name} is built so that it takes too long to read. Save it anew as a plain JPEG.", field="file")
    try:
        return Picture(f"{secrets.token_hex(8)}.jpg", redrawn(content, LONGEST_SIDE, check))
    except (*BROKEN, *BOMB) as error:
        raise Refused(
            f"{name} is no drawing that this shop can read. JPEG, PNG, WebP and PDF are taken.", field="file"
        ) from error


def small_of(content: bytes, side: int) -> bytes:
    """A kept drawing, small enough for a list. Raises OSError where it can't be read."""
    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as image:
        image.draft("RGB", (side, side))
        image.thumbnail((side, side))
        return _as_jpeg(image)


def cut_out(content: bytes, box: tuple[int, int, int, int], side: int) -> bytes:
    """A part of a kept drawing (left, top, right, bottom in pixels). Raises OSError where it can't be read."""
    with Image.open(io.BytesIO(content), formats=("JPEG",)) as image:
        part = image.crop(box)
        part.thumbnail((side, side))
        return _as_jpeg(part)


def _as_jpeg(image: Image.Image) -> bytes:
    """Kept drawings and pages of PDFs are opaque and hold nothing but the picture."""
    out = io.BytesIO()
    image.convert("RGB").save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
