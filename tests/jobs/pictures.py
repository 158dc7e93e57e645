"""Pictures as a browser sends them, and files that are none."""

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image


def a_picture(name: str = "front.png", size: tuple[int, int] = (40, 30), padding: int = 0) -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", size, (120, 80, 40)).save(out, "PNG")
    return SimpleUploadedFile(name, out.getvalue() + b"0" * padding, content_type="image/png")


def no_picture(name: str = "invoice.pdf") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, b"%PDF-1.4 nothing to see", content_type="image/jpeg")
