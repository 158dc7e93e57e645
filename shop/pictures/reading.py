"""Pictures that people send: a few formats, capped in bytes and pixels, drawn anew so that nothing but the picture is kept.

What is kept is a JPEG in sRGB, turned upright, without a word about camera, place or owner, and beside it two smaller ones.
"""

import hashlib
import io
import secrets
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from typing import BinaryIO

from django.core.files.uploadedfile import UploadedFile
from PIL import Image, ImageCms, UnidentifiedImageError

from shop.acts import Refused

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 60_000_000
# A JPEG is read at a half or a quarter of its size; the others have to be read whole, in so much memory and no more.
MOST_MEMORY = 95_000_000
# Bytes a pixel at the worst moment of reading and shrinking, measured with Pillow 12 and 13 and rounded up.
COSTS = {
    "PNG": {"1": 4, "L": 3, "P": 8, "RGB": 7, "RGBA": 11, "LA": 15, "I": 10, "I;16": 10},
    "WEBP": {"RGB": 16, "RGBA": 19},
    # A progressive JPEG is held whole as coefficients, however small it is to be read.
    "JPEG": {"L": 3, "RGB": 7, "CMYK": 9},
}
BASELINE = {"L": 2, "RGB": 7, "CMYK": 9}
DEAREST = 19
# A progressive JPEG comes in some ten scans; each one more costs as much time as reading the picture.
MOST_SCANS = 100
LONGEST_PROFILE = 2_000_000
LONGEST_SIDE = 2400
MIDDLE_SIDE = 1280
SMALL_SIDE = 480
SIDES = (SMALL_SIDE, MIDDLE_SIDE)
QUALITY = 85

# ISO/IEC 23008-12, and how ISO/IEC 14496-12 begins a file: the brands of what telephones call HEIC or HEIF.
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
# EXIF 2.3, 4.6.4 A: the tag 274, Orientation.
ORIENTATION = 274
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
BOMB = (Image.DecompressionBombError, Image.DecompressionBombWarning)
# What Pillow raises for files that break off or lie about what is in them.
BROKEN = (
    UnidentifiedImageError,
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    ArithmeticError,
    AssertionError,
    struct.error,
    zlib.error,
)
_one_at_a_time = Lock()


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG ready to keep, no side longer than `LONGEST_SIDE` pixels; `smaller` are the same with the sides of `SIDES`."""

    name: str
    content: bytes = field(repr=False)
    smaller: tuple[bytes, ...] = field(default=(), repr=False)

    @property
    def digest(self) -> str:
        """SHA-256 of the file kept."""
        return hashlib.sha256(self.content).hexdigest()


def fault_of(file: BinaryIO | UploadedFile, name: str, most_bytes: int) -> str:
    """Why a file can't be kept as a picture, as far as its head tells; an empty text where it can.

    What the file holds decides, never its name or what the browser says of it. It is left at its beginning.
    """
    label = f"“{name.strip()[:60] or 'the file'}”"
    try:
        return _fault(file, label, most_bytes)
    except BOMB:
        return f"{label} has too many pixels. Take it at a smaller size."
    except BROKEN:
        return f"{label} is no picture we can read. JPEG, PNG and WebP are taken."
    finally:
        file.seek(0)


def _fault(file: BinaryIO | UploadedFile, label: str, most_bytes: int) -> str:
    if file.seek(0, io.SEEK_END) > most_bytes:
        return f"{label} is larger than {most_bytes // 1_000_000} MB. Take it at a smaller size."
    file.seek(0)
    head = file.read(30)
    if not head:
        return f"{label} is empty. Choose it again."
    if head[4:8] == b"ftyp" and head[8:12] in HEIC_BRANDS:
        return (
            f"{label} is in the HEIC format, which not every browser shows. Set the telephone's camera to JPEG and take it "
            "again, or keep a copy of it as JPEG and choose that."
        )
    if is_too_large_webp(head):
        return f"{label} has too many pixels. Take it at a smaller size."
    file.seek(0)
    with Image.open(file, formats=FORMATS) as image:
        if image.format in ("PNG", "WEBP") and getattr(image, "is_animated", False):
            return f"{label} is a moving picture. Send a still one."
        if image.width * image.height > most_pixels(image):
            return f"{label} has too many pixels. Take it at a smaller size."
        image.verify()
    return ""


def is_too_large_webp(head: bytes) -> bool:
    """Whether the first 30 bytes of a WebP promise more than may be read: opening it alone takes eight bytes a pixel.

    RFC 9649, 2.5 to 2.7: where the three kinds of it write width and height.
    """
    if head[:4] != b"RIFF" or head[8:12] != b"WEBP":
        return False
    number = int.from_bytes
    if head[12:16] == b"VP8X":
        width, height = number(head[24:27], "little") + 1, number(head[27:30], "little") + 1
    elif head[12:16] == b"VP8L":
        packed = number(head[21:25], "little")
        width, height = (packed & 0x3FFF) + 1, (packed >> 14 & 0x3FFF) + 1
    else:
        width, height = number(head[26:28], "little") & 0x3FFF, number(head[28:30], "little") & 0x3FFF
    return width * height > MOST_MEMORY // COSTS["WEBP"]["RGB"]


def most_pixels(image: Image.Image) -> int:
    """As many as can be read in the memory allowed, by format and by what a pixel holds."""
    if image.format == "JPEG" and not image.info.get("progressive"):
        return MOST_PIXELS
    return min(MOST_MEMORY // COSTS.get(image.format or "", {}).get(image.mode, DEAREST), MOST_PIXELS)


def read_picture(file: BinaryIO | UploadedFile, name: str, most_bytes: int) -> Picture:
    """Read an uploaded file as a picture; refuses what is none, too large or of another format, naming the file."""
    fault = fault_of(file, name, most_bytes)
    if fault:
        raise Refused(fault, field="photos")
    content = file.read(most_bytes + 1)
    label = f"“{name.strip()[:60] or 'the file'}”"
    if is_too_slow(content):
        raise Refused(f"{label} is built so that it takes too long to read. Save it anew as a plain JPEG.", field="photos")
    try:
        return _drawn(content)
    except (*BROKEN, *BOMB) as error:
        raise Refused(f"{label} breaks off or is damaged. Take it or save it anew, and send it again.", field="photos") from error


def is_too_slow(content: bytes) -> bool:
    """A JPEG of so many scans that reading it would hold up everybody."""
    return content.count(b"\xff\xda") > MOST_SCANS and content.startswith(b"\xff\xd8")


def redrawn(content: bytes, longest_side: int, check: Callable[[Image.Image], None]) -> bytes:
    """A JPEG of nothing but the picture, no side longer than that. Raises `BROKEN` or `BOMB`, and what `check` raises."""
    with _one_at_a_time, Image.open(io.BytesIO(content), formats=FORMATS) as image:
        check(image)
        return _as_jpeg(_plain(image, longest_side))


def _drawn(content: bytes) -> Picture:
    # A large picture takes some hundred megabytes while it is read: on a shop's small machine they wait for each other.
    with _one_at_a_time, Image.open(io.BytesIO(content), formats=FORMATS) as image:
        plain = _plain(image, LONGEST_SIDE)
        whole = _as_jpeg(plain)
        small = []
        for side in sorted(SIDES, reverse=True):
            plain.thumbnail((side, side))
            small.append(_as_jpeg(plain))
    return Picture(f"{secrets.token_hex(8)}.jpg", whole, tuple(reversed(small)))


def _plain(image: Image.Image, longest_side: int) -> Image.Image:
    """Upright, on white where it was transparent, in sRGB, and nothing else."""
    turn, profile = _turn(image), image.info.get("icc_profile") or b""
    if image.format == "JPEG":
        # Only a JPEG can be read at a part of its size; the size asked for must have its shape, or it is read whole.
        share = _read_at(image, longest_side)
        image.draft(None, (image.width // share, image.height // share))
    if image.mode.startswith("I"):
        # Sixteen bits of grey; a plain conversion would cut off all that is brighter than a 256th.
        image = image.convert("I").point(lambda grey: grey * (1 / 256)).convert("L")
    elif image.mode == "1" and not image.has_transparency_data:
        image = image.convert("L")
    elif image.has_transparency_data and image.mode != "RGBA":
        image = image.convert("RGBA")
    elif image.mode in ("1", "P", "LA", "PA"):
        image = image.convert("RGB")
    image.thumbnail((longest_side, longest_side), reducing_gap=None)
    if image.mode == "RGBA":
        ground = Image.new("RGBA", image.size, "white")
        ground.alpha_composite(image)
        image = ground.convert("RGB")
    if turn is not None:
        image = image.transpose(turn)
    plain = _in_srgb(image, profile)
    # Pillow writes a comment or a resolution it finds here into the next file.
    plain.info.clear()
    return plain


def _read_at(image: Image.Image, longest_side: int) -> int:
    """At which part of its size a JPEG is read, 1 to 8: no smaller than is wanted, but for its memory."""
    costs = COSTS["JPEG"] if image.info.get("progressive") else BASELINE
    part, cost = 1, costs.get(image.mode, DEAREST)
    while part < 8 and max(image.size) // (2 * part) >= longest_side:
        part *= 2
    while part < 8 and image.width * image.height * cost // part**2 > MOST_MEMORY:
        part *= 2
    return part


def _turn(image: Image.Image) -> Image.Transpose | None:
    try:
        return TURNS.get(image.getexif().get(ORIENTATION, 1))
    except (*BROKEN, AttributeError):
        return None


def _in_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    """The colours as sRGB, since a telephone's wide ones would look dull without their profile. A bad profile is left aside."""
    if profile and len(profile) <= LONGEST_PROFILE:
        try:
            given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            # In its place where it can be: a second copy would double the memory.
            same = image.mode == "RGB"
            changed = ImageCms.profileToProfile(image, given, ImageCms.createProfile("sRGB"), outputMode="RGB", inPlace=same)
            if same:
                return image
            if changed is not None:
                return changed
        except (ImageCms.PyCMSError, *BROKEN):
            pass
    return image if image.mode == "RGB" else image.convert("RGB")


def smaller(content: bytes, side: int) -> bytes:
    """A kept picture with no side longer than `side`; refuses a file that is no picture any more."""
    try:
        with _one_at_a_time, Image.open(io.BytesIO(content), formats=FORMATS) as image:
            image.thumbnail((side, side))
            return _as_jpeg(image.convert("RGB"))
    except (*BROKEN, *BOMB) as error:
        raise Refused("The picture's file in the shop's folder can't be read any more.") from error


def _as_jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
