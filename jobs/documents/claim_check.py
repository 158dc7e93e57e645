"""The claim check: what the customer takes home when the set stays here."""

from dataclasses import dataclass
from datetime import date, datetime

from moneyed import Money
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether

from jobs.documents.blocks import owner_and_set
from jobs.documents.facts import Counted, SetFacts
from shop.paper import Letterhead, Party
from shop.paper.blocks import Sections, SignHere, notice, own_words, paper_head, space
from shop.paper.codes import qr
from shop.paper.frame import Heading, build, room_on
from shop.paper.marks import yes_mark
from shop.paper.tables import Column, beside, facts, say, table
from shop.paper.text import plain
from shop.paper.wording import show_day, show_moment, show_sum

ESTIMATE_NOTICE = (
    "You will get a written estimate before any repair is begun. "
    "Nothing beyond the inspection is charged until you have agreed to it. "
    "If you decline, the set is put back together as near as possible to how it came, and only what you agreed to above is due."
)


@dataclass(frozen=True, slots=True)
class Permission:
    """What the customer allows to be done to the set, or not: `Drill the chassis or cabinet`."""

    what: str
    given: bool


@dataclass(frozen=True, slots=True)
class ClaimCheck:
    """`taken_in_at` is aware, in the shop's time zone. Local rules may prescribe the wording of `estimate_notice`."""

    letterhead: Letterhead
    job_number: str
    taken_in_at: datetime
    received_by: str
    customer: Party
    radio: SetFacts
    fault: str
    goal: str
    job_url: str
    cabinet: str = ""
    came_with: tuple[Counted, ...] = ()
    permissions: tuple[Permission, ...] = ()
    old_parts_back: bool = False
    photos: str = ""
    deposit: Money | None = None
    inspection_fee: Money | None = None
    minimum_fee: Money | None = None
    decline_fee: Money | None = None
    promised_on: date | None = None
    estimate_notice: str = ESTIMATE_NOTICE
    terms: str = ""


def _head(data: ClaimCheck) -> Heading:
    taken_in = show_moment(data.taken_in_at, data.letterhead.locale)
    return Heading(
        "Claim check", data.job_number, f"Set taken in on {taken_in} by {plain(data.received_by, 80)}. Customer's copy."
    )


def _agreed(data: ClaimCheck) -> tuple[tuple[str, str], ...]:
    locale = data.letterhead.locale
    return (
        ("what it shall become", data.goal),
        ("promised for", show_day(data.promised_on, locale) or "no day promised yet"),
        ("inspection fee agreed", show_sum(data.inspection_fee, locale) or "none"),
        *([("minimum bench fee, credited", show_sum(data.minimum_fee, locale))] if data.minimum_fee else []),
        *([("if you decline, beside that", show_sum(data.decline_fee, locale))] if data.decline_fee else []),
        ("deposit received", show_sum(data.deposit, locale) or "none"),
        ("old parts", "wanted back" if data.old_parts_back else "not wanted back"),
        *([("photos of the set", f"{data.photos}; you may take this back at any time")] if data.photos else []),
    )


def _came_with(data: ClaimCheck, room: float) -> list[Flowable]:
    rows = [(str(thing.count), thing.what) for thing in data.came_with] or [("–", "nothing besides the set itself")]
    return [table((Column("count", 14, "right", bold=True), Column("what")), rows, room)]


def _permissions(data: ClaimCheck, room: float) -> list[Flowable]:
    rows = [(permission.what, yes_mark(permission.given)) for permission in data.permissions]
    return [table((Column("may we"), Column("answer", 18, bold=True)), rows, room)] if rows else []


def draw(data: ClaimCheck) -> bytes:
    """The claim check as a PDF, for both to sign; the QR code opens the job for staff who are signed in."""
    room, heading, section = room_on(data.letterhead.paper), _head(data), Sections()
    half = room * 0.5 - 4 * mm
    counted = beside(_came_with(data, half)[:1], _permissions(data, half), room) if _short(data) else None
    story = [
        *paper_head(data.letterhead, heading),
        *owner_and_set(data.letterhead, data.customer, data.radio),
        *section("The fault, in your own words", own_words(data.fault)),
        *section(
            "What came in, and what we may do", [counted] if counted else [*_came_with(data, room), *_permissions(data, room)]
        ),
        *section("Cabinet as received", [say(data.cabinet or "nothing noted", 9, limit=1000)]),
        *section(
            "What we agreed",
            [beside([facts(_agreed(data), room * 0.7, 38)], [qr(data.job_url, 27)], room, 0.8)],
            keep=True,
        ),
        KeepTogether(_close(data, room)),
    ]
    return build(data.letterhead, heading, story)


def _short(data: ClaimCheck) -> bool:
    """Two lists can stand side by side only where neither can outgrow the page."""
    things = [thing.what for thing in data.came_with] + [permission.what for permission in data.permissions]
    return len(things) <= 24 and all(len(what) <= 80 for what in things)


def _close(data: ClaimCheck, room: float) -> list[Flowable]:
    terms = [space(2), notice(data.terms, room, "Terms")] if data.terms else []
    signatures = SignHere(("Customer, date", f"For {data.letterhead.shop_name}: {data.received_by}"))
    return [notice(data.estimate_notice, room, "About the estimate"), *terms, space(2), signatures]
