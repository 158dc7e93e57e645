"""The letter to the owner of a set that is ready and not collected."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from shop.paper import Letterhead, Party
from shop.paper.blocks import notices, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import beside, facts, say
from shop.paper.wording import show_day, show_sum


@dataclass(frozen=True, slots=True)
class CollectionLetter:
    """`names_on` is the day on or after which the set is to be sold; None for a notice to collect. `owed` as it stands now.

    `owed_for` says on which papers; `ground` on what ground the shop holds the set; `more` is what else the notice has to say.
    """

    letterhead: Letterhead
    to: Party
    job_number: str
    set_line: str
    ready_on: date
    sent_on: date
    sent_by: str
    owed: Money | None
    names_on: date | None
    citation: str
    owed_for: str = ""
    ground: str = ""
    more: str = ""


def _words(data: CollectionLetter) -> list[str]:
    locale = data.letterhead.locale
    words = [
        f"Your {data.set_line} has been ready since {show_day(data.ready_on, locale)}. Please collect it at the address above, "
        "or tell us whom we shall hand it to.",
    ]
    if data.owed:
        on = f", on {data.owed_for}" if data.owed_for else ""
        words.append(f"{show_sum(data.owed, locale)} is to be paid for it{on}.")
    if data.names_on:
        words.append(
            f"If it isn't collected, we intend to sell it on or after {show_day(data.names_on, locale)}. What the sale brings "
            "above its costs and what is owed is yours. If you dispute what is owed, please write to us before that day."
        )
    words += [text for text in (data.ground, data.more) if text]
    return words


def draw(data: CollectionLetter) -> bytes:
    """The letter as a PDF."""
    room, locale = room_on(data.letterhead.paper), data.letterhead.locale
    title = "Notice of the intention to sell" if data.names_on else "Please collect your set"
    heading = Heading(title, data.job_number, f"Sent on {show_day(data.sent_on, locale)} by {data.sent_by}.")
    pairs = (("job", data.job_number), ("set", data.set_line), ("ready since", show_day(data.ready_on, locale)))
    law = f"{data.citation}. The shop keeps a copy of this notice." if data.citation else ""
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.to), [facts(pairs, room * 0.52, 24, limit=320)], room, 0.48),
        space(8),
        *(say(text, 10, after=6, limit=1200) for text in _words(data)),
        space(4),
        *notices((("Sent under", law),), room),
    ]
    return build(data.letterhead, heading, story)
