"""Pictures that people send: what is read, what is refused and in which words, and that nothing but the picture is kept.

Outside sources: the segments of a JPEG file by ITU-T T.81 (ISO/IEC 10918-1), annex B; the tag Orientation by EXIF 2.3, 4.6.4 A;
the first bytes of a HEIC file by ISO/IEC 14496-12, 4.3.
"""

import contextlib
import io
import struct
import zlib
from collections.abc import Iterator

import pytest
from PIL import Image, ImageCms, PngImagePlugin

from shop.acts import Refused
from shop.pictures import fault_of, read_picture
from shop.pictures.reading import LONGEST_SIDE

MOST = 15_000_000
NO_PICTURE = "“{}” is no picture we can read. JPEG, PNG and WebP are taken."
DAMAGED = "“{}” breaks off or is damaged. Take it or save it anew, and send it again."


def saved(image: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def halves(
    mode: str = "RGB", size: tuple[int, int] = (40, 20), left: object = (200, 0, 0), right: object = (0, 0, 200)
) -> Image.Image:
    """A picture whose left half is of one colour, its right half of another: red and blue where nothing else is said."""
    image = Image.new(mode, size, right)  # type: ignore[arg-type]
    image.paste(left, (0, 0, size[0] // 2, size[1]))  # type: ignore[arg-type]
    return image


def kept(content: bytes, name: str = "front.jpg") -> Image.Image:
    image = Image.open(io.BytesIO(read_picture(io.BytesIO(content), name, MOST).content))
    image.load()
    return image


def refusal(content: bytes, name: str = "front.jpg", most: int = MOST) -> str:
    with pytest.raises(Refused) as refused:
        read_picture(io.BytesIO(content), name, most)
    assert refused.value.field == "photos"
    return refused.value.message


def is_near(found: object, wanted: tuple[int, int, int]) -> bool:
    return isinstance(found, tuple) and all(abs(one - other) < 12 for one, other in zip(found, wanted, strict=True))


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and content of each segment before the picture's own data (T.81, B.1.1)."""
    at = 2
    while jpeg[at + 1] != 0xDA:
        length = struct.unpack(">H", jpeg[at + 2 : at + 4])[0]
        yield jpeg[at + 1], jpeg[at + 4 : at + 2 + length]
        at += 2 + length


class TestWhatIsKept:
    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_each_format_becomes_a_jpeg(self, kind: str) -> None:
        image = kept(saved(halves(), kind), "front.exe")
        assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (40, 20))

    def test_nothing_of_what_a_camera_noted_is_left(self) -> None:
        """Place, camera, comment, editing history: neither as segments nor anywhere in the bytes."""
        exif = Image.Exif()
        exif[271], exif[305] = "Secretcam", "Secretware"
        exif.get_ifd(0x8825)[1] = "N"
        exif.get_ifd(0x8825)[2] = (52.0, 12.0, 34.0)
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        notes = {"exif": exif, "comment": b"Secretcomment", "xmp": b"<x:xmpmeta>Secrethistory", "dpi": (301, 301)}
        content = saved(halves(), icc_profile=profile, **notes)
        assert content.count(b"Secret") == 4
        picture = read_picture(io.BytesIO(content), "front.jpg", MOST)
        for file in (picture.content, *picture.smaller):
            assert not any(word in file for word in (b"Secret", b"xmpmeta", b"Exif", b"ICC_PROFILE"))
            # Only the head that every JFIF file has (APP0), without the camera's resolution; no other APPn, no comment.
            noted = [(marker, data) for marker, data in segments(file) if 0xE0 <= marker <= 0xEF or marker == 0xFE]
            assert [marker for marker, _ in noted] == [0xE0]
            assert (noted[0][1][:5], noted[0][1][8:12]) == (b"JFIF\0", b"\0\1\0\1")

    def test_text_in_a_png_is_left_out(self) -> None:
        notes = PngImagePlugin.PngInfo()
        notes.add_text("Comment", "Secretcomment")
        assert b"Secret" not in read_picture(io.BytesIO(saved(halves(), "PNG", pnginfo=notes)), "a.png", MOST).content

    @pytest.mark.parametrize(
        ("orientation", "side"),
        [
            (1, "left"),
            (2, "right"),
            (3, "right"),
            (4, "left"),
            (5, "top"),
            (6, "top"),
            (7, "bottom"),
            (8, "bottom"),
        ],
    )
    def test_a_camera_held_otherwise_is_turned_upright(self, orientation: int, side: str) -> None:
        """EXIF 2.3: which side of what is seen the file's first column is, for each of the eight values."""
        exif = Image.Exif()
        exif[274] = orientation
        image = kept(saved(halves(), exif=exif, quality=95))
        points = {"left": (2, 10), "right": (37, 10), "top": (10, 2), "bottom": (10, 37)}
        assert image.size == ((40, 20) if side in ("left", "right") else (20, 40))
        assert is_near(image.getpixel(points[side]), (200, 0, 0))

    @pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
    def test_damaged_camera_notes_do_no_harm(self) -> None:
        content = saved(halves())
        assert kept(content[:2] + b"\xff\xe1\x00\x10Exif\0\0II*\0\xff\xff\xff\xff" + content[2:]).size == (40, 20)

    def test_a_large_one_is_made_smaller_and_two_smaller_ones_lie_beside_it(self) -> None:
        picture = read_picture(io.BytesIO(saved(halves(size=(3000, 750)))), "wide.jpg", MOST)
        sizes = [Image.open(io.BytesIO(file)).size for file in (picture.content, *picture.smaller)]
        assert sizes == [(LONGEST_SIDE, 600), (480, 120), (1280, 320)]

    def test_print_colours_are_shown_as_they_look(self) -> None:
        image = kept(saved(halves("CMYK", left=(0, 255, 255, 0), right=(255, 255, 0, 0)), quality=95))
        red, _, blue = image.getpixel((5, 10))  # type: ignore[misc]
        assert image.mode == "RGB"
        assert (red > 200, blue < 60) == (True, True)

    def test_a_profile_of_colours_is_followed_and_a_bad_one_left_aside(self) -> None:
        plain = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        for profile in (plain, b"no profile at all"):
            assert is_near(kept(saved(halves(), quality=95, icc_profile=profile)).getpixel((5, 10)), (200, 0, 0))

    def test_sixteen_bits_of_grey_keep_their_shades(self) -> None:
        row = struct.pack("<20H", *[0x4000] * 20) + struct.pack("<20H", *[0xC000] * 20)
        image = kept(saved(Image.frombytes("I;16", (40, 20), row * 20), "PNG"))
        assert is_near(image.getpixel((5, 10)), (64, 64, 64))
        assert is_near(image.getpixel((35, 10)), (192, 192, 192))

    def test_what_is_clear_stands_on_white(self) -> None:
        clear = halves("RGBA", left=(200, 0, 0, 255), right=(0, 0, 0, 0))
        palette = halves().quantize(2)
        palette.info["transparency"] = palette.getpixel((35, 10))
        for content in (saved(clear, "PNG"), saved(clear, "WEBP", lossless=True), saved(palette, "PNG")):
            image = kept(content)
            assert is_near(image.getpixel((5, 10)), (200, 0, 0))
            assert is_near(image.getpixel((37, 10)), (255, 255, 255))

    @pytest.mark.parametrize("mode", ["1", "L", "LA", "P"])
    def test_every_way_to_write_a_png_is_read(self, mode: str) -> None:
        assert kept(saved(halves().convert(mode), "PNG")).mode == "RGB"

    def test_what_hangs_on_behind_the_picture_is_left_out(self) -> None:
        """A file that is a picture and a page or an archive at once is only the picture afterwards."""
        content = saved(halves()) + b"<html><script>alert(1)</script>PK\x03\x04"
        assert b"script" not in read_picture(io.BytesIO(content), "both.jpg", MOST).content


def a_bomb(side: int) -> bytes:
    """A PNG of some hundred bytes that says to hold side × side pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 5000)) + chunk(b"IEND", b"")


class TestWhatIsRefused:
    @pytest.mark.parametrize(
        ("name", "content"),
        [
            ("sheet.jpg", b"%PDF-1.4 nothing to see"),
            ("drawing.png", b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>'),
            ("page.jpg", b"<!doctype html><script>alert(1)</script>"),
            ("moving.jpg", b"GIF89a\x01\x00\x01\x00\x00\x00\x00;"),
            ("head.jpg", b"\xff\xd8\xff\xe0"),
            ("empty.png", b"\x89PNG\r\n\x1a\n"),
            ("old.tif", saved(Image.new("RGB", (4, 4)), "TIFF")),
        ],
    )
    def test_what_is_no_picture_is_named(self, name: str, content: bytes) -> None:
        assert refusal(content, name) == NO_PICTURE.format(name)

    def test_an_empty_file_is_told(self) -> None:
        assert refusal(b"", "nothing.jpg") == "“nothing.jpg” is empty. Choose it again."

    def test_a_telephones_own_format_is_refused_with_what_to_do(self) -> None:
        said = refusal(b"\0\0\0\x24ftypheic\0\0\0\0mif1heic", "IMG 0042.heic")
        assert said == (
            "“IMG 0042.heic” is in the HEIC format, which not every browser shows. Set the telephone's camera to JPEG and take "
            "it again, or keep a copy of it as JPEG and choose that."
        )

    @pytest.mark.filterwarnings("ignore:Image size")
    def test_a_bomb_is_refused_by_its_head(self) -> None:
        for side in (6_000, 9_600, 60_000):
            assert refusal(a_bomb(side), "bomb.png") == "“bomb.png” has too many pixels. Take it at a smaller size."

    def test_a_jpeg_that_is_read_a_thousand_times_is_refused(self) -> None:
        content = saved(halves())
        start = content.index(b"\xff\xda")
        scan = content[start : content.index(b"\xff\xd9", start)]
        many = content[:start] + scan * 1000 + b"\xff\xd9"
        assert refusal(many, "slow.jpg") == "“slow.jpg” is built so that it takes too long to read. Save it anew as a plain JPEG."

    @pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
    def test_one_that_breaks_off_is_refused(self, kind: str) -> None:
        whole = saved(Image.effect_noise((120, 90), 80).convert("RGB"), kind)
        assert refusal(whole[: len(whole) // 2], "cut.jpg") in (DAMAGED.format("cut.jpg"), NO_PICTURE.format("cut.jpg"))

    @pytest.mark.parametrize("kind", ["PNG", "WEBP"])
    def test_one_that_moves_is_refused(self, kind: str) -> None:
        moving = saved(halves(), kind, save_all=True, append_images=[Image.new("RGB", (40, 20), "green")], duration=100)
        assert refusal(moving, "moving.webp") == "“moving.webp” is a moving picture. Send a still one."

    def test_one_that_is_too_heavy_is_refused(self) -> None:
        said = refusal(saved(halves()) + b"0" * 1_000_000, "big.jpg", 1_000_000)
        assert said == "“big.jpg” is larger than 1 MB. Take it at a smaller size."

    @pytest.mark.filterwarnings("ignore")
    def test_bytes_turned_over_never_raise_anything_else(self) -> None:
        """Every 23rd byte, one at a time: the picture is kept, or refused in words."""
        for kind in ("JPEG", "PNG", "WEBP"):
            whole = saved(halves(size=(16, 16)), kind)
            for at in range(0, len(whole), 23):
                spoilt = whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :]
                with contextlib.suppress(Refused):
                    assert read_picture(io.BytesIO(spoilt), "spoilt", MOST).content.startswith(b"\xff\xd8\xff")

    def test_the_file_is_left_at_its_beginning(self) -> None:
        for content in (saved(halves()), b"no picture"):
            file = io.BytesIO(content)
            fault_of(file, "front.jpg", MOST)
            assert file.tell() == 0
