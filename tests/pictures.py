"""Pictures for tests that send photos."""

from io import BytesIO

from PIL import Image


def a_picture(kind: str = "PNG", width: int = 80, height: int = 60) -> bytes:
    """The bytes of a small picture of one colour."""
    made = BytesIO()
    Image.new("RGB", (width, height), (150, 110, 60)).save(made, kind)
    return made.getvalue()
