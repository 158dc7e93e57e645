"""Drawings as they are kept: a JPEG large enough for the small print of a circuit, drawn anew so that nothing else is kept."""

import io
import secrets
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

from shop.acts import Refused
from shop.pictures import FORMATS, MOST_PIXELS, Picture

LONGEST_SIDE = 4000
FEWEST_PIXELS = 60
QUALITY = 85


def drawing_of(content: bytes, name: str) -> Picture:
    """The picture, upright and no side longer than 4,000 pixels; refuses what is none, naming the file."""
    return Picture(f"{secrets.token_hex(8)}.jpg", _as_jpeg(_opened(content, name), LONGEST_SIDE))


def small_of(content: bytes, side: int) -> bytes:
    """A kept drawing, small enough for a list. Raises OSError where it can't be read."""
    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG")) as image:
        image.draft("RGB", (side, side))
        return _as_jpeg(image, side)


def cut_out(content: bytes, box: tuple[int, int, int, int], side: int) -> bytes:
    """A part of a kept drawing (left, top, right, bottom in pixels). Raises OSError where it can't be read."""
    with Image.open(io.BytesIO(content), formats=("JPEG",)) as image:
        return _as_jpeg(image.crop(box), side)


def _opened(content: bytes, name: str) -> Image.Image:
    unreadable = Refused(
        f"{name} is no drawing that this shop can read. JPEG, PNG, WebP and PDF are taken.",
        field="file",
    )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=FORMATS) as image:
                _check(image.width, image.height, name)
                image.load()
                return ImageOps.exif_transpose(image)
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise unreadable from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        # Pillow raises these for files that break off or lie about their size.
        raise unreadable from error


def _check(width: int, height: int, name: str) -> None:
    if width * height > MOST_PIXELS:
        raise Refused(f"{name} has more than {MOST_PIXELS // 1_000_000} million pixels. Make it smaller.", field="file")
    if min(width, height) < FEWEST_PIXELS:
        raise Refused(f"{name} is too small or too narrow for a drawing: {width} × {height} pixels.", field="file")


def _as_jpeg(image: Image.Image, side: int) -> bytes:
    upright = image.copy()
    upright.thumbnail((side, side))
    out = io.BytesIO()
    _on_white(upright).save(out, "JPEG", quality=QUALITY)
    return out.getvalue()


def _on_white(image: Image.Image) -> Image.Image:
    """Lines on a transparent ground would turn black on black."""
    if image.mode not in ("RGBA", "LA", "PA") and "transparency" not in image.info:
        return image.convert("RGB")
    clear = image.convert("RGBA")
    ground = Image.new("RGBA", clear.size, "white")
    ground.alpha_composite(clear)
    return ground.convert("RGB")
