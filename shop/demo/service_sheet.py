"""The invented maker's service sheet: a circuit drawn here, of the demo's mains set with its rectifier valve, and its places."""

import io
from collections.abc import Sequence
from datetime import datetime
from math import cos, pi, sin

from PIL import Image, ImageDraw, ImageFont

from inventory.components.tables import csv_table
from jobs.models import RadioModel, SheetPage
from jobs.services.service_sheets import PageFacts, Where, add_page, place
from shop.demo.people import PACKAGE
from shop.drawings.pictures import drawing_of
from shop.models import Staff
from shop.paper.styles import BODY, BOLD, FONTS

WIDTH, HEIGHT = 2400, 1640
INK, PAPER = (38, 34, 30), (244, 240, 226)
PEN = 4
TITLE = "Circuit, Kestrel 5"
SOURCE = "drawn by the shop from the chassis, folder 3"
NOTE = "Mains set without a transformer: the chassis may be live. Heaters in series, drawn in part."
UNPLACED = ("LS",)
"""Left without a place, so that the demo shows what that looks like."""


def add_service_sheet(model: RadioModel, *, person: Staff, at: datetime) -> SheetPage:
    """Keep the drawn page with the model and put its positions on it."""
    page = add_page(model, PageFacts(TITLE, SOURCE), drawing_of(circuit(), TITLE), person=person, at=at)
    for row in csv_table(PACKAGE, "service_sheet.csv"):
        if row["symbol"] != "wire" and row["name"] not in UNPLACED:
            x, y = int(row["x"]), int(row["y"])
            place(page, row["name"], Where(x * 10_000 // WIDTH, y * 10_000 // HEIGHT), seen=page.version)
            page.version += 1
    return page


class Sheet:
    """A drawing sheet: each symbol has its middle at x, y; `up` turns it so that its leads run up and down."""

    def __init__(self) -> None:
        self.image = Image.new("RGB", (WIDTH, HEIGHT), PAPER)
        self.pen = ImageDraw.Draw(self.image)
        self.small, self.bold = _font(BODY, 26), _font(BOLD, 30)

    def line(self, points: Sequence[tuple[float, float]], width: int = PEN) -> None:
        self.pen.line(list(points), fill=INK, width=width, joint="curve")

    def blank(self, x: float, y: float, across: float, down: float) -> None:
        """Clear what runs under a symbol."""
        self.pen.rectangle((x - across, y - down, x + across, y + down), fill=PAPER)

    def turned(self, x: float, y: float, points: Sequence[tuple[float, float]], up: bool) -> list[tuple[float, float]]:
        return [(x + b, y + a) if up else (x + a, y + b) for a, b in points]

    def resistor(self, x: float, y: float, up: bool) -> None:
        self.blank(x, y, *((10, 50) if up else (50, 10)))
        teeth = [(-48 + 16 * step, (14 if step % 2 else -14)) for step in range(7)]
        self.line(self.turned(x, y, [(-56, 0), *teeth, (56, 0)], up))

    def capacitor(self, x: float, y: float, up: bool) -> None:
        self.blank(x, y, *((12, 10) if up else (10, 12)))
        for at in (-10, 10):
            self.line(self.turned(x, y, [(at, -30), (at, 30)], up), PEN + 2)

    def rectifier(self, x: float, y: float, up: bool) -> None:
        self.pen.ellipse((x - 74, y - 74, x + 74, y + 74), fill=PAPER, outline=INK, width=PEN)
        self.line([(x - 34, y - 38), (x + 34, y - 38)], PEN + 3)
        self.line([(x - 30, y + 30), (x + 30, y + 30)], PEN + 2)
        self.line([(x, y - 74), (x, y - 38)])
        self.line([(x + 20, y + 30), (x + 20, y + 72)])

    def valve(self, x: float, y: float, up: bool) -> None:
        self.rectifier(x, y, up)
        for step in range(-3, 3):
            self.line([(x + step * 12, y - 6), (x + step * 12 + 7, y - 6)])
        self.line([(x - 74, y - 6), (x - 38, y - 6)])

    def coil(self, x: float, y: float, up: bool) -> None:
        for step in range(-2, 3):
            self.pen.arc((x - 18, y + step * 26 - 14, x + 18, y + step * 26 + 14), 270, 90, fill=INK, width=PEN)

    def transformer(self, x: float, y: float, up: bool) -> None:
        self.blank(x, y, 52, 70)
        self.coil(x - 44, y, up)
        for step in range(-2, 3):
            self.pen.arc((x + 26, y + step * 26 - 14, x + 62, y + step * 26 + 14), 90, 270, fill=INK, width=PEN)
        for core in (-6, 6):
            self.line([(x + core, y - 66), (x + core, y + 66)])

    def switch(self, x: float, y: float, up: bool) -> None:
        self.blank(x, y, 30, 10)
        for at in (-30, 30):
            self.pen.ellipse((x + at - 7, y - 7, x + at + 7, y + 7), outline=INK, width=PEN)
        self.line([(x - 26, y - 4), (x + 20, y - 34)])

    def lamp(self, x: float, y: float, up: bool) -> None:
        self.pen.ellipse((x - 32, y - 32, x + 32, y + 32), fill=PAPER, outline=INK, width=PEN)
        for turn in (0.25, 0.75):
            a, b = 32 * cos(turn * pi), 32 * sin(turn * pi)
            self.line([(x - a, y - b), (x + a, y + b)])

    def speaker(self, x: float, y: float, up: bool) -> None:
        self.pen.rectangle((x - 14, y - 26, x + 14, y + 26), outline=INK, width=PEN)
        self.line([(x + 14, y - 26), (x + 50, y - 60), (x + 50, y + 60), (x + 14, y + 26)])

    def plug(self, x: float, y: float, up: bool) -> None:
        self.pen.rectangle((x - 18, y - 60, x + 18, y + 60), outline=INK, width=PEN)
        for pin in (-34, 34):
            self.line([(x - 50, y + pin), (x - 18, y + pin)], PEN + 4)

    def name(self, x: float, y: float, words: str, value: str) -> None:
        self.pen.text((x, y), words, font=self.bold, fill=INK, anchor="lm")
        self.pen.text((x, y + 32), value, font=self.small, fill=INK, anchor="lm")

    def wire(self, points: str) -> None:
        """`x,y x,y …`; a point with a star behind it is a soldered joint."""
        corners = [pair.rstrip("*").split(",") for pair in points.split()]
        self.line([(int(x), int(y)) for x, y in corners])
        for pair, (x, y) in zip(points.split(), corners, strict=True):
            if pair.endswith("*"):
                self.pen.ellipse((int(x) - 8, int(y) - 8, int(x) + 8, int(y) + 8), fill=INK)


def _font(name: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(FONTS / f"{name}.ttf"), size)


def circuit() -> bytes:
    """The drawing as PNG: wires first, symbols over them."""
    sheet, rows = Sheet(), csv_table(PACKAGE, "service_sheet.csv")
    for row in rows:
        if row["symbol"] == "wire":
            sheet.wire(row["value"])
    for row in rows:
        if row["symbol"] != "wire":
            x, y = int(row["x"]), int(row["y"])
            getattr(sheet, row["symbol"])(x, y, row["turn"] == "up")
            sheet.name(x + int(row["name_x"]), y + int(row["name_y"]), row["name"], row["value"])
    sheet.pen.rectangle((24, 24, WIDTH - 24, HEIGHT - 24), outline=INK, width=3)
    sheet.pen.text((70, 80), "MERROWBY KESTREL 5", font=_font(BOLD, 52), fill=INK, anchor="lm")
    sheet.pen.text((70, 132), NOTE, font=_font(BODY, 30), fill=INK, anchor="lm")
    out = io.BytesIO()
    sheet.image.save(out, "PNG", compress_level=1)
    return out.getvalue()
