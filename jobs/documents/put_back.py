"""Two papers of a declined set: the bench's list for putting it back, and the closing paper for its owner."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from moneyed import Money
from reportlab.platypus import Flowable

from jobs.documents.blocks import owner_and_set
from jobs.documents.facts import Counted, SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, cautions, notice, paper_head, points, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, say, table
from shop.paper.wording import show_day, show_sum

DISCHARGE = (
    "Unplug the set and discharge its capacitors before anything is put back. The chassis can be live. "
    "Local codes and a licensed person's judgement come first."
)
DISABLED = (
    "THIS SET IS NOT PROVEN SAFE. It goes back disabled, and must not be connected before a qualified person has repaired and "
    "tested it."
)
HARM = (
    "Its chassis can be live, and its capacitors can hold a charge that kills. Local codes and a licensed person's judgement "
    "come first."
)
NEAR = (
    "The set was put back together as near as possible to how it came. What could not or should not go back the way it was is "
    "named below."
)


@dataclass(frozen=True, slots=True)
class BackStep:
    """One step back, the newest change first. `kind`: take out, wiring, put back, look. `done` says how; empty: to do.

    `cost` is what the parts had cost as they go back into the drawer; `unsafe`: the old part doesn't go back as it was.
    """

    kind: Literal["take_out", "wiring", "put_back", "look"]
    place: str
    text: str
    count: int = 1
    goes_to: str = ""
    cost: Money | None = None
    before: str = ""
    advice: str = ""
    unsafe: bool = False
    done: str = ""
    position: int | None = None


WHAT = {"take_out": "Take out", "wiring": "Undo the wiring", "put_back": "Put back", "look": "Look"}


@dataclass(frozen=True, slots=True)
class PutBackList:
    """`back_in_stock` is the sum of what came out and went back into drawers; `held` what never left them."""

    letterhead: Letterhead
    job_number: str
    customer: Party
    radio: SetFacts
    written_on: date
    steps: tuple[BackStep, ...]
    came_with: tuple[Counted, ...] = ()
    held: tuple[Counted, ...] = ()
    back_in_stock: Money | None = None
    cautions: tuple[str, ...] = ()


STEP_COLUMNS = (
    Column("", 7, bold=True),
    Column("position", 16, bold=True),
    Column("what to do"),
    Column("goes to", 34),
    Column("was there before", 46),
)
LAST = (
    "Every old part that isn't in the set again is in a bag with the job's number.",
    "No lead hangs free; every screw, knob and the back are in place.",
    "The set is disabled where it isn't proven safe, and a tag says so.",
)


def _step_rows(data: PutBackList) -> list[tuple[str, ...]]:
    locale = data.letterhead.locale
    return [
        (
            "☒" if one.done else "☐",
            one.place or "the set",
            "; ".join(part for part in (f"{WHAT[one.kind]}: {_counted(one)}", one.done) if part),
            ", ".join(part for part in (one.goes_to, show_sum(one.cost, locale)) if part) or "–",
            ". ".join(part for part in (one.before, ("⚠ " if one.unsafe else "") + one.advice if one.advice else "") if part)
            or "–",
        )
        for one in data.steps
    ]


def _counted(one: BackStep) -> str:
    return f"{one.count} × {one.text}" if one.count > 1 else one.text


def draw_list(data: PutBackList) -> bytes:
    """The work list as a PDF: boxes to tick, those that the log ticks already."""
    room, locale, section = room_on(data.letterhead.paper), data.letterhead.locale, Sections()
    heading = Heading("Put back as it came", data.job_number, f"As the log stood on {show_day(data.written_on, locale)}.")
    steps: list[Flowable] = (
        [table(STEP_COLUMNS, _step_rows(data), room)]
        if data.steps
        else [say("Nothing was changed: there is nothing to take back.", 9)]
    )
    held = [f"{one.count} × {one.what}" for one in data.held]
    money = show_sum(data.back_in_stock, locale)
    stock = [f"Parts that came out went back into stock at what they had cost, {money} in all."] if data.back_in_stock else []
    stock += [f"Held, never left its drawer: {words}." for words in held]
    things = [f"{one.count} × {one.what}" for one in data.came_with]
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section("Cautions", [cautions((DISCHARGE, *data.cautions), room)]),
        *section("Back, the last change first", steps),
        *(section("Stock", points(stock)) if stock else []),
        *(section("Came with the set, goes with it", points(things, bullet="☐")) if things else []),
        *section("Last of all", [*points(LAST, bullet="☐"), space(2), SignHere(("Put back by", "Date"))], keep=True),
    ]
    return build(data.letterhead, heading, story)


@dataclass(frozen=True, slots=True)
class FoundLine:
    """What was found at one place: `C2`, `coupling`, `0.05 µF paper`, `leaks 0.3 mA`, `leaky`."""

    place: str
    role: str
    found: str
    measured: str
    verdict: str


@dataclass(frozen=True, slots=True)
class ClosingPaper:
    """`fees` are those due as agreed, with tax; `kept_out` old parts that did not go back, each with the reason."""

    letterhead: Letterhead
    job_number: str
    customer: Party
    radio: SetFacts
    fault: str
    written_on: date
    declined_on: date | None
    found: tuple[FoundLine, ...] = ()
    wiring: tuple[str, ...] = ()
    fees: tuple[tuple[str, Money], ...] = ()
    fee_rule: str = ""
    kept_out: tuple[str, ...] = ()
    not_back: tuple[str, ...] = ()
    came_with: tuple[Counted, ...] = ()
    ready_on: date | None = None
    terms: str = ""
    proven: bool = False


FOUND_COLUMNS = (
    Column("position", 16, bold=True),
    Column("what it does", 34),
    Column("found", 40),
    Column("measured"),
    Column("verdict", 28),
)


FEE_COLUMNS = (Column("fee"), Column("sum", 36, "right", bold=True))


def _found(data: ClosingPaper, room: float) -> list[Flowable]:
    rows = [(one.place, one.role, one.found or "–", one.measured or "–", one.verdict) for one in data.found]
    told: list[Flowable] = [table(FOUND_COLUMNS, rows, room)] if rows else [say("Nothing was found wrong by then.", 9)]
    return [*told, *(points([f"Wiring: {text}" for text in data.wiring]) if data.wiring else [])]


def _fees(data: ClosingPaper, room: float) -> list[Flowable]:
    locale = data.letterhead.locale
    if not data.fees:
        return [say("Nothing is due: no fee was agreed to.", 9)]
    rows = [(what, show_sum(money, locale)) for what, money in data.fees]
    return [table(FEE_COLUMNS, rows, room), space(1), say(data.fee_rule, 8, limit=1200)]


def _back(data: ClosingPaper) -> list[Flowable]:
    things = [f"Goes back with it: {one.count} × {one.what}." for one in data.came_with]
    bag = ["Old parts that are not in the set again lie in a bag with the job's number; ask for it."]
    not_back = [f"Still as we changed it: {text}." for text in data.not_back]
    return [say(NEAR, 9.5, after=3), *points([*not_back, *data.kept_out, *things, *bag])]


def draw_closing(data: ClosingPaper) -> bytes:
    """The closing paper as a PDF, for the owner to sign when the set is fetched."""
    room, locale, section = room_on(data.letterhead.paper), data.letterhead.locale, Sections()
    heading = Heading("Your set goes back unrepaired", data.job_number, f"Written on {show_day(data.written_on, locale)}.")
    declined = f"You declined our estimate on {show_day(data.declined_on, locale)}. " if data.declined_on else ""
    since = (
        f"It can be fetched from {show_day(data.ready_on, locale)} on. "
        if data.ready_on
        else "We shall tell you when it can be fetched. "
    )
    terms = f"From that day the terms agreed to at intake hold for its storage: {data.terms}" if data.terms else ""
    state: Flowable = (
        notice("It passed the electrical safety check as it stands now.", room, "✓ Proven safe")
        if data.proven
        else cautions((DISABLED, HARM), room)
    )
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        say(f"{declined}{since}{terms}", 10, after=6, limit=2000),
        *section("What we found", _found(data, room)),
        *section("What is due", _fees(data, room)),
        *section("How it goes back", _back(data)),
        *section(
            "Its electrical state",
            [state, SignHere((f"For {data.letterhead.shop_name}", "Owner, told of this", "Date"))],
            keep=True,
        ),
    ]
    return build(data.letterhead, heading, story)
