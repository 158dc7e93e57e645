"""The letter to the owner of a set that a bad part was fitted in: what may happen, what to do, what the shop offers."""

from dataclasses import dataclass
from datetime import date

from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, notices, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, beside, facts, say, table
from shop.paper.wording import show_day, show_short_day

SWITCH_OFF = "Please switch the set off, pull its plug out of the wall, and don’t use it until it has been looked at."
LOOK_OUT = "If it hums, smells, gets hot or falls silent, switch it off and pull the plug. Please let us look at it soon."
NO_HURRY = "You needn’t do anything at once. If it plays badly, let us look at it."
DONT_OPEN = (
    "Please don’t open the set yourself. There is line voltage inside, and capacitors stay charged after it is switched off. "
    "Work inside it is for a trained and, where your place asks for it, a licensed person; the rules of your place come first."
)
LAW = "What the law gives you stands beside our warranty and isn’t shortened by this letter."


@dataclass(frozen=True, slots=True)
class BadPlace:
    """One part in the set: where, what, what may happen there, and the last day of the warranty on it (None: it has none)."""

    designator: str
    part: str
    fitted_on: date
    what_may_happen: str
    covered_until_on: date | None = None
    covered: bool = False


@dataclass(frozen=True, slots=True)
class BadLotLetterPaper:
    """`grade` is the gravest of its places: danger, may_fail or harmless. `danger` and `advice` are the shop's own words."""

    letterhead: Letterhead
    to: Party
    job_number: str
    set_line: str
    written_on: date
    why: str
    grade: str
    places: tuple[BadPlace, ...]
    danger: str = ""
    advice: str = ""


COLUMNS = (Column("place", 22, bold=True), Column("part", 46), Column("fitted on", 28), Column("what may happen"))


def _to_do(data: BadLotLetterPaper) -> list[str]:
    usual = {"danger": SWITCH_OFF, "may_fail": LOOK_OUT}.get(data.grade, NO_HURRY)
    own = [data.advice] if data.advice.strip() else []
    return [usual, *own] if data.grade == "danger" or not own else own


def _offer(data: BadLotLetterPaper) -> list[str]:
    locale = data.letterhead.locale
    runs = [place for place in data.places if place.covered]
    over = [place for place in data.places if not place.covered]
    words = []
    if runs:
        last = show_day(min(place.covered_until_on for place in runs if place.covered_until_on), locale)
        words.append(f"We look at the set and replace {_named(runs)} at no charge: our warranty runs until {last}.")
    if over:
        ended = [place.covered_until_on for place in over if place.covered_until_on]
        when = f" ended on {show_day(max(ended), locale)}" if ended else " doesn’t cover it"
        words.append(f"Our own warranty on {_named(over)}{when}. Bring the set in or call us, and we tell you what it needs.")
    return [*words, LAW, f"You reach us{_reach(data.letterhead)}. Please name job {data.job_number}."]


def _named(places: list[BadPlace]) -> str:
    return " and ".join(dict.fromkeys(place.designator for place in places))


def _reach(head: Letterhead) -> str:
    ways = [f"by telephone on {head.phone}" if head.phone else "", f"by e-mail at {head.email}" if head.email else ""]
    said = " or ".join(way for way in ways if way)
    return f" {said}" if said else " at the address above"


def draw(data: BadLotLetterPaper) -> bytes:
    """The letter as a PDF."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    title = "Please don’t use your set" if data.grade == "danger" else "About a part in your set"
    heading = Heading(title, data.job_number, f"Written on {show_day(data.written_on, locale)}.")
    pairs = (("job", data.job_number), ("set", data.set_line))
    warned = [data.why.strip().rstrip(".") + ".", *([data.danger] if data.danger.strip() else [])]
    rows = [
        (place.designator, place.part, show_short_day(place.fitted_on, locale), place.what_may_happen) for place in data.places
    ]
    told = f"When we worked on your {data.set_line} we fitted a part of a batch that has turned out bad:"
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.to), [facts(pairs, room * 0.52, 24, limit=320)], room, 0.48),
        space(6),
        say(" ".join([told, *warned]), 10, after=6, limit=1200),
        *section(
            "What to do",
            [say(text, 11, bold=data.grade == "danger" and not at, after=5, limit=800) for at, text in enumerate(_to_do(data))],
        ),
        *section("What it is, and what may happen", [table(COLUMNS, rows, room)]),
        *section("What we offer", [say(text, 10, after=5, limit=1200) for text in _offer(data)]),
        *notices((("Careful", DONT_OPEN),), room),
    ]
    return build(data.letterhead, heading, story)
