"""Photos of the invented sets, drawn here: the front, the chassis from above and from below, each a little different."""

import io
from collections.abc import Callable
from datetime import datetime
from random import Random

from PIL import Image, ImageDraw

from jobs.models import Job, Moment, Position
from jobs.services.photos import add_photo
from shop.models import Staff
from shop.pictures import read_picture

SIZE = WIDTH, HEIGHT = 1200, 900
TABLE, CHASSIS, DARK, BRASS, CREAM = (96, 84, 70), (158, 160, 158), (34, 30, 28), (176, 140, 70), (232, 222, 190)
WOODS = ((112, 66, 34), (88, 50, 30), (128, 84, 46))
BODIES = ((196, 158, 92), (150, 60, 44), (70, 74, 80), (210, 196, 150), (60, 84, 120))
MOST_BYTES = 5_000_000

Pen = ImageDraw.ImageDraw


def _front(pen: Pen, rng: Random) -> None:
    pen.rounded_rectangle((120, 160, 1080, 800), 90, rng.choice(WOODS), DARK, 6)
    pen.rectangle((190, 240, 620, 700), BRASS, DARK, 4)
    for y in range(252, 696, 14):
        pen.line((196, y, 614, y), (140, 108, 52), 3)
    pen.ellipse((690, 240, 1010, 560), CREAM, DARK, 6)
    pen.line((850, 400, 850 + rng.randint(-110, 110), 280), (150, 30, 24), 6)
    for x in rng.sample((710, 800, 900, 990), 3):  # one knob of the four is missing
        pen.ellipse((x - 36, 640, x + 36, 712), DARK)


def _above(pen: Pen, rng: Random) -> None:
    pen.rectangle((90, 170, 1110, 760), CHASSIS, DARK, 5)
    for number in range(5):
        x = 200 + number * 190
        pen.ellipse((x - 62, 260, x + 62, 384), (208, 216, 218), DARK, 4)
        pen.ellipse((x - 26, 296, x + 26, 348), (90, 92, 96))
    pen.rectangle((140, 480, 380, 700), (120, 108, 92), DARK, 5)
    pen.ellipse((470, 500, 640, 670), (176, 178, 180), DARK, 5)
    for step in range(9):
        pen.arc((760 + step * 12, 480, 1000 + step * 6, 720), 150, 330, DARK, 4)


def _below(pen: Pen, rng: Random) -> None:
    pen.rectangle((90, 170, 1110, 760), CHASSIS, DARK, 5)
    for _ in range(26):
        x, y = rng.randint(140, 980), rng.randint(210, 690)
        long, thick = rng.randint(50, 120), rng.randint(18, 38)
        ends = (x - 46, y + thick // 2, x + long + 46, y + thick // 2)
        pen.line(ends, (60, 60, 62), 4)
        pen.rounded_rectangle((x, y, x + long, y + thick), 10, rng.choice(BODIES), DARK, 2)
    for _ in range(10):
        points = [(rng.randint(110, 1090), rng.randint(190, 740)) for _ in range(4)]
        pen.line(points, rng.choice(BODIES), 5, joint="curve")


VIEWS: tuple[tuple[Callable[[Pen, Random], None], str], ...] = (
    (_front, "front, one knob missing"),
    (_above, "chassis from above, as it came"),
    (_below, "chassis from below, before anything was moved"),
)


def drawn(view: Callable[[Pen, Random], None], rng: Random) -> bytes:
    image = Image.new("RGB", SIZE, TABLE)
    view(ImageDraw.Draw(image), rng)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=80)
    return out.getvalue()


def photograph(job: Job, *, person: Staff, at: datetime) -> None:
    """Three photos of the set as it was found."""
    rng = Random(job.number)
    for view, caption in VIEWS:
        _keep(job, drawn(view, rng), caption, person=person, at=at)


def photograph_position(job: Job, designator: str, caption: str, *, person: Staff, at: datetime) -> None:
    position = Position.objects.get(job=job, designator=designator)
    _keep(job, drawn(_below, Random(f"{job.number} {designator}")), caption, person=person, at=at, position=position)


def _keep(job: Job, content: bytes, caption: str, *, person: Staff, at: datetime, position: Position | None = None) -> None:
    picture = read_picture(io.BytesIO(content), f"{caption}.jpg", MOST_BYTES)
    add_photo(job, picture, person=person, at=at, caption=caption, position=position, moment=Moment.FOUND)
