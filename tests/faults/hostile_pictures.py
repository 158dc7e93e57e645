"""Sends pictures made to hurt through both doors that take pictures: photos, and drawings of service sheets.

    .venv/bin/python -m tests.faults.hostile_pictures --count 1000

Each is a small valid picture of some kind with words planted in its metadata, then torn, mixed, cut off, given another name or a
false size, or put together with a script. A crash, a planted word or any metadata in what is kept, more than 200 MB of memory:
each is a fault, and any fault makes the exit code 1. Every fiftieth is as large as may be sent at all.
"""

import argparse
import io
import json
import os
import random
import resource
import struct
import subprocess
import sys
import tempfile
import warnings
import zlib
from collections.abc import Callable, Iterator
from typing import Any

MOST_MEGABYTES = 200
MOST_BYTES = 15_000_000
WORD = b"PLANTED-WORD-4711"
LARGE_EVERY = 50
# JPEG segments that carry something else than the picture: APP1 (EXIF, XMP) to APP15 and comments; APP0 is JFIF itself.
TELLING_SEGMENTS = {*range(0xE1, 0xF0), 0xFE}


def saved(image: Any, kind: str, rng: random.Random) -> bytes:
    """The picture with words planted wherever its format has room for some."""
    from PIL import Image, ImageCms, PngImagePlugin

    exif = Image.Exif()
    exif[0x010E] = WORD.decode()
    exif[0x0112] = rng.randint(0, 9)
    out, more = io.BytesIO(), {}
    if kind == "PNG":
        info = PngImagePlugin.PngInfo()
        info.add_text("Comment", WORD.decode())
        info.add_itxt("XML:com.adobe.xmp", WORD.decode())
        more = {"pnginfo": info, "exif": exif}
    elif kind in ("JPEG", "WEBP"):
        more = {"exif": exif, "xmp": WORD}
    if kind == "JPEG":
        more |= {"comment": WORD, "progressive": rng.random() < 0.5, "dpi": (471, 471)}
    if rng.random() < 0.5 and kind in ("PNG", "JPEG", "WEBP", "TIFF"):
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        more["icc_profile"] = profile if rng.random() < 0.5 else profile[: rng.randint(1, 200)] + WORD
    image.save(out, kind, **more)
    return out.getvalue()


MODES = {
    "PNG": ("1", "L", "LA", "P", "RGB", "RGBA", "I;16"),
    "JPEG": ("L", "RGB", "CMYK"),
    "WEBP": ("RGB", "RGBA"),
    "GIF": ("P",),
    "TIFF": ("RGB", "CMYK", "I;16"),
    "BMP": ("RGB",),
}


def a_valid_one(rng: random.Random, side: int = 0) -> bytes:
    from PIL import Image

    kind = rng.choice([*MODES, "PNG", "JPEG", "JPEG", "WEBP"])
    mode = rng.choice(MODES[kind])
    size = (side, side) if side else (rng.choice([1, 2, 17, 64, 300]), rng.choice([1, 3, 64, 301]))
    image = (
        Image.new(mode, size) if side else Image.effect_noise(size, 80).convert("RGB").convert("L" if mode == "I;16" else mode)
    )
    if mode == "I;16" and not side:
        image = image.convert("I").convert("I;16") if kind == "PNG" else image
    return saved(image, kind, rng)


def cut_off(content: bytes, rng: random.Random) -> bytes:
    return content[: rng.randint(0, len(content))]


def flipped(content: bytes, rng: random.Random) -> bytes:
    torn = bytearray(content)
    for _ in range(rng.choice([1, 3, 20, 200])):
        torn[rng.randrange(len(torn))] = rng.randrange(256)
    return bytes(torn)


def doubled(content: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(content))
    return content[:start] + content[start : start + 4000] * rng.choice([2, 30]) + content[start:]


def with_a_script(content: bytes, rng: random.Random) -> bytes:
    script = b"<script>alert('" + WORD + b"')</script><?php echo 1; ?>"
    return script + content if rng.random() < 0.3 else content + script


def a_vector(content: bytes, rng: random.Random) -> bytes:
    return b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"><image href="file:///etc/passwd"/>' + WORD + b"</svg>"


def of_false_size(content: bytes, rng: random.Random) -> bytes:
    """A PNG whose head promises more than there is: a bomb, or a shape that no memory holds."""
    width, height = rng.choice([(60_000, 60_000), (2**31 - 1, 1), (1, 2**31 - 1), (4_000, 2_700), (0, 10), (9_000, 60)])
    head = struct.pack(
        ">IIBBBBB", width, height, rng.choice([1, 8, 16, 99]), rng.choice([0, 2, 3, 4, 6]), 0, 0, rng.choice([0, 1])
    )
    body = zlib.compress(b"\0" * 1_000_000, 9)
    parts = ((b"IHDR", head), (b"IDAT", body), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in parts)


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def swelling_words(content: bytes, rng: random.Random) -> bytes:
    """A compressed text in a small PNG that unpacks to a hundred megabytes."""
    head = struct.pack(">IIBBBBB", 64, 64, 8, 0, 0, 0, 0)
    packer = zlib.compressobj(9)
    words = b"".join([packer.compress(b"A" * 1_000_000) for _ in range(100)] + [packer.flush()])
    body = zlib.compress(b"\0" * 65 * 64)
    name = rng.choice([b"zTXt", b"iCCP"])
    parts = ((b"IHDR", head), (name, b"Comment\0\0" + words), (b"IDAT", body), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(one, data) for one, data in parts)


def a_moving_one(content: bytes, rng: random.Random) -> bytes:
    from PIL import Image

    frames, out = [Image.new("RGB", (64, 64), (shade, 0, 0)) for shade in range(0, 200, 20)], io.BytesIO()
    frames[0].save(out, rng.choice(["PNG", "WEBP", "GIF"]), save_all=True, append_images=frames[1:])
    return out.getvalue()


def many_scans(content: bytes, rng: random.Random) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.effect_noise((200, 200), 60).save(out, "JPEG", progressive=True)
    whole = out.getvalue()
    start = whole.index(b"\xff\xda")
    return whole[:start] + whole[start:-2] * rng.choice([2, 9, 30]) + b"\xff\xd9"


def named_otherwise(content: bytes, rng: random.Random) -> bytes:
    return b"\0\0\0\x24ftyp" + rng.choice([b"heic", b"avif", b"mif1", b"qt  "]) + content


def noise(content: bytes, rng: random.Random) -> bytes:
    heads = [b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x10\0\0\0WEBPVP8L", b"II*\0", b"%PDF-1.7\n", b"GIF89a", b""]
    return rng.choice(heads) + rng.randbytes(rng.choice([0, 5, 400, 20_000]))


def as_it_is(content: bytes, rng: random.Random) -> bytes:
    return content


WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    as_it_is, as_it_is, cut_off, flipped, flipped, flipped, doubled, with_a_script, a_vector, of_false_size, swelling_words,
    a_moving_one, many_scans, named_otherwise, noise,
)  # fmt: skip


def contents(count: int, rng: random.Random) -> Iterator[tuple[str, bytes]]:
    for number in range(count):
        if number % LARGE_EVERY == LARGE_EVERY - 1:
            yield "large", a_valid_one(rng, rng.choice([2_400, 3_000, 3_800, 5_000, 6_000]))
            continue
        way = rng.choice(WAYS)
        yield way.__name__, way(a_valid_one(rng), rng)


def metadata_in(kept: bytes) -> str:
    """What a kept JPEG holds beside the picture; nothing where all is well."""
    if WORD in kept:
        return "the planted word"
    at = 2
    while at + 4 <= len(kept) and kept[at] == 0xFF and kept[at + 1] != 0xDA:
        if kept[at + 1] in TELLING_SEGMENTS:
            return f"a segment of kind {kept[at + 1]:#x}"
        at += 2 + int.from_bytes(kept[at + 2 : at + 4], "big")
    return "" if kept[:2] == b"\xff\xd8" else "no JPEG"


def through_both_doors(content: bytes) -> Iterator[bytes]:
    """What is kept of it; a refusal keeps nothing."""
    from shop.acts import Refused
    from shop.drawings.pictures import drawing_of
    from shop.pictures import read_picture

    for door in (lambda: read_picture(io.BytesIO(content), "a.png", MOST_BYTES), lambda: drawing_of(content, "“a.png”")):
        try:
            picture = door()
        except Refused:
            continue
        yield picture.content
        yield from picture.smaller


def faults_of(content: bytes) -> list[str]:
    try:
        return [f"kept {found}" for kept in through_both_doors(content) if (found := metadata_in(kept))]
    except Exception as error:  # whatever escapes would be a page of trouble
        return [f"{type(error).__name__}: {error}"]


def peak_megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def answer_parent() -> None:
    """The process that reads: a length and so many bytes come in, faults and its peak of memory go out, a line a picture."""
    while size := int(sys.stdin.buffer.readline() or b"0"):
        found = faults_of(sys.stdin.buffer.read(size))
        print(json.dumps([found, peak_megabytes()]), flush=True)


def run(count: int, seed: int) -> int:
    """Pictures are made here and read in a process of its own, so that making large ones isn't counted."""
    rng, sent, faults, peak = random.Random(seed), 0, list[str](), 0.0
    pipe = subprocess.PIPE
    with subprocess.Popen([sys.executable, "-m", __spec__.name, "--read"], stdin=pipe, stdout=pipe) as reader:
        assert reader.stdin is not None
        assert reader.stdout is not None
        for way, content in contents(count, rng):
            sent += 1
            reader.stdin.write(b"%d\n%b" % (len(content), content))
            reader.stdin.flush()
            answer = reader.stdout.readline()
            found, now = json.loads(answer) if answer else (["the process died"], peak)
            if now > max(MOST_MEGABYTES, peak + 10):
                found.append(f"{now:.0f} MB")
            peak = max(peak, now)
            faults += [f"no. {sent}, {way}, {len(content):,} bytes: {one}" for one in found]
            if not answer:
                break
        reader.stdin.close()
    for line in faults[:20]:
        print(line)
    print(f"{sent} pictures through two doors, peak {peak:.0f} MB, {len(faults)} faults (seed {seed})")
    return 1 if faults else 0


def _set_up(folder: str) -> None:
    os.environ |= {"SHOP_FOLDER": folder, "DJANGO_SETTINGS_MODULE": "shop.settings"}
    import django

    django.setup()
    warnings.simplefilter("ignore")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=4711)
    parser.add_argument("--read", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.read:
        _set_up(os.environ["SHOP_FOLDER"])
        answer_parent()
        return 0
    with tempfile.TemporaryDirectory(prefix="shop-pictures-") as folder:
        _set_up(folder)
        return run(asked.count, asked.seed)


if __name__ == "__main__":
    sys.exit(main())
