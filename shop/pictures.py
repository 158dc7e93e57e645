"""Pictures that people send: a few formats, capped in bytes and pixels, drawn anew so that nothing but the picture is kept."""

import io
import secrets
import warnings
from dataclasses import dataclass
from typing import BinaryIO

from PIL import Image, ImageOps, UnidentifiedImageError

from shop.acts import Refused

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 2400


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG ready to keep: turned upright, without metadata, no side longer than `LONGEST_SIDE` pixels."""

    name: str
    content: bytes


def read_picture(file: BinaryIO, name: str, most_bytes: int) -> Picture:
    """Read an uploaded file as a picture; refuses what is none, too large or of another format, naming the file."""
    label = name.strip()[:60] or "the file"
    content = file.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise Refused(f"{label} is larger than {most_bytes // 1_000_000} MB. Make it smaller and send it again.", field="photos")
    if not content:
        raise Refused(f"{label} is empty.", field="photos")
    return Picture(f"{secrets.token_hex(8)}.jpg", _redrawn(content, label))


def _redrawn(content: bytes, label: str) -> bytes:
    unreadable = Refused(f"{label} isn't a picture this shop can read. JPEG, PNG and WebP are accepted.", field="photos")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=FORMATS) as image:
                if image.width * image.height > MOST_PIXELS:
                    raise Refused(
                        f"{label} has more than {MOST_PIXELS // 1_000_000} million pixels. Make it smaller.", field="photos"
                    )
                return _as_jpeg(image)
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise unreadable from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        # Pillow raises these for files that break off or lie about their size.
        raise unreadable from error


def _as_jpeg(image: Image.Image) -> bytes:
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = upright.convert("RGB")
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=85)
    return out.getvalue()
