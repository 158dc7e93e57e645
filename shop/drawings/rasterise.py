"""Draws pages of a PDF in a process of its own that has little memory and little time. Nothing of the shop is imported here.

    python -I rasterise.py look MOST SIDE    the first pages, small
    python -I rasterise.py draw PAGE SIDE    one page

The file comes on standard input. Out go one line of JSON (`pages`, `sizes` in bytes; or `problem`) and the PNG files one after
another. No form is opened, so no script of the file is ever run.
"""

import io
import json
import math
import sys
import time

try:
    import resource
except ImportError:  # not on every system; the caller's time limit holds there too
    resource = None  # type: ignore[assignment]

MEMORY_BYTES = 900_000_000
CPU_SECONDS = 20
LOOK_SECONDS = 6.0
MOST_PAGES = 1000
DENSEST = 400 / 72
"""Pixels a point: 400 to the inch. More shows nothing that was printed."""
FEWEST_PIXELS = 60
"""A page whose shorter side would have fewer is no drawing."""


class Problem(Exception):
    """Why a file can't be drawn, in one word that the caller puts into a sentence."""


def limit_this_process() -> None:
    if resource is None:
        return
    for what, most in (
        (resource.RLIMIT_AS, MEMORY_BYTES),
        (resource.RLIMIT_CPU, CPU_SECONDS),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (most, most))


def opened(content: bytes):  # type: ignore[no-untyped-def]
    """The document, opened without a password."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(content)
        count = len(document)
    except pypdfium2.PdfiumError as error:
        locked = (pypdfium2.raw.FPDF_ERR_PASSWORD, pypdfium2.raw.FPDF_ERR_SECURITY)
        raise Problem("locked" if getattr(error, "err_code", None) in locked else "broken") from error
    if count < 1:
        raise Problem("empty")
    if count > MOST_PAGES:
        raise Problem("many")
    return document


def drawn(document, page: int, side: int) -> bytes:  # type: ignore[no-untyped-def]
    """One page as PNG, its longer side at most `side` pixels."""
    import pypdfium2

    try:
        width, height = document.get_page_size(page - 1)
        longer, shorter = max(width, height), min(width, height)
        if not (math.isfinite(longer) and shorter > 0):
            raise Problem("shape")
        scale = min(side / longer, DENSEST)
        if shorter * scale < min(FEWEST_PIXELS, side / 10):
            raise Problem("shape")
        picture = document[page - 1].render(scale=scale).to_pil().convert("RGB")
    except pypdfium2.PdfiumError as error:
        raise Problem("page") from error
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=1)
    return out.getvalue()


def look(content: bytes, most: int, side: int) -> tuple[int, list[bytes]]:
    """How many pages there are, and the first of them small. A page that can't be drawn leaves an empty place."""
    document, shown, began = opened(content), [], time.monotonic()
    for page in range(1, min(len(document), most) + 1):
        try:
            shown.append(drawn(document, page, side))
        except Problem:
            shown.append(b"")
        if time.monotonic() - began > LOOK_SECONDS:
            break
    return len(document), shown


def draw(content: bytes, page: int, side: int) -> tuple[int, list[bytes]]:
    document = opened(content)
    if not 1 <= page <= len(document):
        raise Problem("absent")
    return len(document), [drawn(document, page, side)]


def main(what: str, first: str, second: str) -> None:
    limit_this_process()
    try:
        act = look if what == "look" else draw
        count, pictures = act(sys.stdin.buffer.read(), int(first), int(second))
        head: dict[str, object] = {"pages": count, "sizes": [len(one) for one in pictures]}
    except Problem as problem:
        head, pictures = {"problem": str(problem)}, []
    except MemoryError:
        head, pictures = {"problem": "heavy"}, []
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + b"".join(pictures))


if __name__ == "__main__":
    main(*sys.argv[1:4])
