"""What sets of one model taught the shop, on paper for the bench: where parts went in, readings to expect, hours, traps."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from reportlab.platypus import Flowable

from shop.paper import Letterhead
from shop.paper.blocks import Sections, own_words, paper_head, points
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day

LIVE_WORDS = (
    "Voltages were read on live sets. Before you touch: unplug, discharge and measure. Local codes and licensed practice go "
    "before anything written here."
)
NO_SETS_WORDS = "No set of this model was here yet. Nothing below comes from this model."
LIKES_WORDS = "Not this model. These are sets {how}: {models}."
PLACE_COLUMNS = (
    Column("position", 16, bold=True),
    Column("role", 30),
    Column("called for", 25),
    Column("went in", 17, bold=True),
    Column("found in there"),
    Column("was judged", 26),
    Column("drift", 16, "right"),
)
POINT_COLUMNS = (
    Column("position", 20, bold=True),
    Column("point"),
    Column("sets", 16, "right"),
    Column("lowest, V", 26, "right"),
    Column("median, V", 26, "right"),
    Column("highest, V", 26, "right"),
)
HOUR_COLUMNS = (
    Column("step", bold=True),
    Column("jobs", 16, "right"),
    Column("shortest", 30, "right"),
    Column("median", 30, "right"),
    Column("longest", 30, "right"),
)
JOB_COLUMNS = (
    Column("job", 28, bold=True),
    Column("taken in", 28),
    Column("serial", 30),
    Column("fault in the customer's words"),
    Column("stage", 32),
)
BACK_COLUMNS = (Column("job", 28, bold=True), Column("position", 20), Column("found then"), Column("cause", 44))
ROLE_COLUMNS = (
    Column("role", bold=True),
    Column("places seen", 28, "right"),
    Column("part went in", 28, "right"),
    Column("share", 20, "right"),
)

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ModelHistoryPaper:
    """Every row is written out already, in the order of its columns."""

    letterhead: Letterhead
    model: str
    on: date
    sets: int
    jobs: tuple[Row, ...] = ()
    places: tuple[Row, ...] = ()
    points: tuple[Row, ...] = ()
    hours: tuple[Row, ...] = ()
    came_back: tuple[Row, ...] = ()
    traps: str = ""
    cautions: tuple[str, ...] = ()
    likes_how: str = ""
    likes_models: str = ""
    likes: tuple[Row, ...] = ()


def draw(data: ModelHistoryPaper) -> bytes:
    room, section = room_on(data.letterhead.paper), Sections()
    counted = f"{data.sets} set{'' if data.sets == 1 else 's'} of it here so far" if data.sets else NO_SETS_WORDS
    heading = Heading("What this model taught us", data.model, counted)
    day = show_day(data.on, data.letterhead.locale)
    story: list[Flowable] = [
        *paper_head(data.letterhead, heading),
        say(f"From the shop's own change logs, as of {day}. What was, not what must be: measure each set.", 9, after=3),
    ]
    story += section("Cautions", points((*data.cautions, LIVE_WORDS)))
    if data.traps:
        story += section("Traps", own_words(data.traps))
    for title, columns, rows in _tables(data):
        if rows:
            story += section(title, [table(columns, rows, room)])
    if data.likes:
        told = LIKES_WORDS.format(how=data.likes_how, models=data.likes_models)
        story += section("Sets like it", [table(ROLE_COLUMNS, data.likes, room), say(told, 8.5, limit=900)])
    return build(data.letterhead, heading, story)


def _tables(data: ModelHistoryPaper) -> Iterable[tuple[str, tuple[Column, ...], tuple[Row, ...]]]:
    yield "Where parts went in", PLACE_COLUMNS, data.places
    yield "Voltages under power", POINT_COLUMNS, data.points
    yield "Hours", HOUR_COLUMNS, data.hours
    yield "Came back", BACK_COLUMNS, data.came_back
    yield "Sets that were here", JOB_COLUMNS, data.jobs
