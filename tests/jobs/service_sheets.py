"""A page of a service sheet for tests, and files that stand for one."""

import io
import zlib
from datetime import datetime

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw
from reportlab.pdfgen.canvas import Canvas

from jobs.models import RadioModel, SheetPage
from jobs.services.service_sheets import PageFacts, Where, add_page, place
from shop.clock import now
from shop.drawings.pictures import drawing_of
from shop.models import Staff
from tests import builders as make

SHEET = (1200, 800)


def drawn(size: tuple[int, int] = SHEET, kind: str = "PNG") -> bytes:
    """A white sheet with a line across it."""
    image, out = Image.new("RGB", size, "white"), io.BytesIO()
    ImageDraw.Draw(image).line((0, 0, *size), fill="black", width=3)
    image.save(out, kind)
    return out.getvalue()


def a_page(
    model: RadioModel | None = None,
    title: str = "Circuit",
    person: Staff | None = None,
    at: datetime | None = None,
    **places: tuple[int, int],
) -> SheetPage:
    """A page of a model's sheet, with places in ten-thousandths: `C2=(2500, 5000)`."""
    made = add_page(
        model or make.a_model(),
        PageFacts(title, "folder 3"),
        drawing_of(drawn(), title),
        person=person or make.a_staff(),
        at=at or now(),
    )
    for designator, (x, y) in places.items():
        place(made, designator, Where(x, y), seen=made.version)
        made.refresh_from_db()
    return made


def a_pdf(pages: int = 1, size: tuple[float, float] = (595, 842), **canvas: object) -> bytes:
    out = io.BytesIO()
    sheet = Canvas(out, pagesize=size, **canvas)
    for number in range(1, pages + 1):
        sheet.drawString(size[0] / 3, size[1] / 2, f"page {number}")
        sheet.showPage()
    sheet.save()
    return out.getvalue()


def pdf_of(*objects: bytes) -> bytes:
    """A PDF of these objects, numbered from 1; the first is its catalogue."""
    out, starts = b"%PDF-1.4\n", []
    for number, one in enumerate(objects, 1):
        starts.append(len(out))
        out += b"%d 0 obj\n" % number + one + b"\nendobj\n"
    table = b"".join(b"%010d 00000 n \n" % start for start in starts)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    return out + head + table + b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % (len(objects) + 1, len(out))


def one_page(contents: bytes, more: bytes = b"", catalogue: bytes = b"") -> bytes:
    """A PDF of one page that draws `contents`, a stream object."""
    return pdf_of(
        b"<</Type/Catalog/Pages 2 0 R" + catalogue + b">>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 600 800]/Contents 4 0 R" + more + b">>",
        contents,
    )


def stream(content: bytes, how: bytes = b"") -> bytes:
    return b"<</Length %d%s>>stream\n" % (len(content), how) + content + b"\nendstream"


def swelling(megabytes: int) -> bytes:
    """A page whose drawing orders take so many megabytes once they are unpacked; each of them is packed alike."""
    packing = zlib.compressobj(9)
    head = packing.compress(b" ") + packing.flush(zlib.Z_FULL_FLUSH)
    block = packing.compress(b" " * 1_000_000) + packing.flush(zlib.Z_FULL_FLUSH)
    return one_page(stream(head + block * megabytes + packing.flush(), b"/Filter/FlateDecode"))


def sent(content: bytes, name: str = "sheet.png") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type="application/octet-stream")
