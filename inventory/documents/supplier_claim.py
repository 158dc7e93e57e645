"""The letter to a supplier whose parts failed: what was bought, what is wrong, what is asked."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money

from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import beside, facts, say
from shop.paper.wording import show_day, show_sum


@dataclass(frozen=True, slots=True)
class SupplierClaimLetter:
    """`cost` is what the parts cost the shop, all of them; `until_on` the last day of the supplier's cover."""

    letterhead: Letterhead
    reference: str
    supplier: Party
    part: str
    count: int
    reason: str
    cost: Money
    claimed_on: date
    received_on: date
    date_code: str = ""
    our_number: str = ""
    order_number: str = ""
    until_on: date | None = None
    sent_back: bool = False


def _words(data: SupplierClaimLetter) -> list[str]:
    locale, are = data.letterhead.locale, "is" if data.count == 1 else "are"
    came = f"We had {data.count} of {data.part} from you, received on {show_day(data.received_on, locale)}, that {are} not sound."
    window = ""
    if data.until_on and data.claimed_on <= data.until_on:
        window = f"You stand by them until {show_day(data.until_on, locale)}."
    back = (
        "They are on their way to you."
        if data.sent_back
        else "We send them to you, or keep them for you to look at, as you wish."
    )
    asked = f"Please credit {show_sum(data.cost, locale)}, which they cost us, or send us sound ones."
    others = "Please tell us, too, if you know of others from this batch that failed."
    return [came, *([window] if window else []), asked, back, others]


def draw(data: SupplierClaimLetter) -> bytes:
    """The letter as a PDF. It shows the sum it is given and reckons none."""
    room, section, locale = room_on(data.letterhead.paper), Sections(), data.letterhead.locale
    heading = Heading("Parts that failed", data.reference, f"Claimed on {show_day(data.claimed_on, locale)}.")
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.supplier), [facts(_facts(data), room * 0.52, 34)], room, 0.48),
        space(6),
        *section("What is wrong with them", [say(data.reason, 10, after=6, limit=400)]),
        *section("What we ask", [say(text, 10, after=6, limit=800) for text in _words(data)]),
    ]
    return build(data.letterhead, heading, story)


def _facts(data: SupplierClaimLetter) -> list[tuple[str, str]]:
    locale = data.letterhead.locale
    pairs = (
        ("part", data.part),
        ("count", str(data.count)),
        ("received on", show_day(data.received_on, locale)),
        ("date code", data.date_code),
        ("ordered on", data.order_number),
        ("our number with you", data.our_number),
    )
    return [pair for pair in pairs if pair[1]]
