"""Papers of a lawful sale: the account of it for the owner of the set, and what the buyer takes along."""

from dataclasses import dataclass
from datetime import date

from moneyed import Money
from reportlab.platypus import Flowable

from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, cautions, notice, notices, paper_head, party_block, space
from shop.paper.frame import Heading, build, room_on
from shop.paper.tables import Column, beside, facts, say, table
from shop.paper.wording import show_day, show_sum

NOT_FOR_USE = (
    "UNPROVEN, NOT FOR USE. This set was not proven electrically safe. It must not be connected before a qualified person has "
    "repaired and tested it."
)
HARM = (
    "The chassis of such a set can be live, and its capacitors can hold a charge that kills. Local codes and a licensed person's "
    "judgement come first."
)
NO_WARRANTY = "The shop gives no warranty of its own with this sale. Rights that the law gives a buyer stand as they are."


@dataclass(frozen=True, slots=True)
class SaleAccount:
    """What the sale brought, what went off it, what is left. `paid_out` of the rest was paid before `written_on`."""

    letterhead: Letterhead
    to: Party
    job_number: str
    set_line: str
    written_on: date
    sold_on: date
    how: str
    price: Money
    costs: Money
    costs_text: str
    owed: Money
    surplus: Money
    still_owed: Money
    paid_out: Money
    left: Money
    notice_on: date | None = None
    citation: str = ""
    surplus_words: str = ""
    surplus_citation: str = ""
    goes_on: date | None = None
    goes_to: str = ""


def _sums(data: SaleAccount, room: float) -> list[Flowable]:
    locale = data.letterhead.locale

    def said(money: Money) -> str:
        return show_sum(money, locale)

    rows = [
        ("Price of the set", said(data.price)),
        (f"Less the costs of the sale{': ' + data.costs_text if data.costs_text else ''}", said(data.costs)),
        ("Less what was owed to the shop", said(data.owed)),
        ("Yours", said(data.surplus)),
    ]
    columns = (Column("what"), Column("sum", 36, "right", bold=True))
    after = [(label, said(money)) for label, money in _after(data) if money]
    more = [space(2), table(columns, after, room)] if after else []
    return [table(columns, rows, room, strong_last=1), *more]


def _after(data: SaleAccount) -> list[tuple[str, Money]]:
    return [("Paid to you since", data.paid_out), ("Still yours", data.left), ("Still owed by you", data.still_owed)]


def _words(data: SaleAccount) -> list[str]:
    locale = data.letterhead.locale
    told = f", after our notice of {show_day(data.notice_on, locale)}" if data.notice_on else ""
    words = [f"Your {data.set_line} was not collected{told}. It was sold on {show_day(data.sold_on, locale)}. {data.how}."]
    if data.left:
        words.append(
            f"{show_sum(data.left, locale)} is held for you. Please tell us how you want it paid; we shall ask who you are."
        )
        if data.goes_on:
            words.append(f"What nobody claimed by {show_day(data.goes_on, locale)} goes to {data.goes_to}, who holds it for you.")
    elif data.still_owed:
        words.append(f"The price didn't cover what was owed: {show_sum(data.still_owed, locale)} is still to be paid.")
    return words


def draw(data: SaleAccount) -> bytes:
    """The account of the sale as a PDF."""
    room, locale, section = room_on(data.letterhead.paper), data.letterhead.locale, Sections()
    heading = Heading("Account of the sale of your set", data.job_number, f"Written on {show_day(data.written_on, locale)}.")
    pairs = (("job", data.job_number), ("set", data.set_line), ("sold on", show_day(data.sold_on, locale)))
    law = ". ".join(part.rstrip(".") for part in (data.surplus_words, data.surplus_citation) if part)
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("To", data.to), [facts(pairs, room * 0.52, 24, limit=320)], room, 0.48),
        space(8),
        *(say(text, 10, after=6, limit=1200) for text in _words(data)),
        *section("The sums", _sums(data, room)),
        space(4),
        *notices((("Sold under", data.citation), ("What is left", law)), room),
    ]
    return build(data.letterhead, heading, story)


@dataclass(frozen=True, slots=True)
class BuyersPaper:
    """`how_disabled` is empty where the set is proven safe; `proven` then says by which check."""

    letterhead: Letterhead
    buyer: Party
    job_number: str
    set_line: str
    sold_on: date
    price: Money
    citation: str
    proven: str = ""
    how_disabled: str = ""


def draw_buyers(data: BuyersPaper) -> bytes:
    """The buyer's paper as a PDF, signed by both; an unproven set says so above all else."""
    room, locale, section = room_on(data.letterhead.paper), data.letterhead.locale, Sections()
    heading = Heading("Receipt for a set", data.job_number, f"Sold on {show_day(data.sold_on, locale)}.")
    pairs = (("set", data.set_line), ("price", show_sum(data.price, locale)), ("sold under", data.citation))
    if data.how_disabled:
        state: list[Flowable] = [cautions((NOT_FOR_USE, f"How it was disabled: {data.how_disabled}", HARM), room)]
        signs = ("Told of this, and signed: the buyer", "Date")
    else:
        state, signs = [notice(data.proven, room, "✓ Proven safe")], ("The buyer", "Date")
    story = [
        *paper_head(data.letterhead, heading),
        beside(party_block("Buyer", data.buyer), [facts(pairs, room * 0.52, 24, limit=400)], room, 0.48),
        space(5),
        *section("Its electrical state", [*state, SignHere((f"For {data.letterhead.shop_name}", *signs))], keep=True),
        say(f"The set was sold because nobody had collected it. {NO_WARRANTY}", 9, after=3),
    ]
    return build(data.letterhead, heading, story)
