"""Whether a set that nobody collected may be sold on a day: every condition with its reason, as data.

Notices, proofs that they went out or arrived, and disputes come in as plain data. What the place's rule has against a sale
refuses where its text was read; where it is remembered only, or silent, whoever looked at the current text goes past it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from shop.jurisdictions.codes import UNREACHED
from shop.jurisdictions.rules import CHECK, Source, Uncollected

ARRIVED = ("posted", "delivered")
TO_THE_PERSON = ("recorded_post", "certified_mail", "first_class", "by_hand")


@dataclass(frozen=True, slots=True)
class Proof:
    """`kind`: posted, delivered, came_back or published."""

    kind: str
    on: date


@dataclass(frozen=True, slots=True)
class Sent:
    """One notice: `kind` collect or sale, `names_on` the day that it names."""

    kind: str
    sent_on: date
    names_on: date | None = None
    proofs: tuple[Proof, ...] = ()

    @property
    def reached_on(self) -> date | None:
        """The day of the newest proof that it went to the person; None where there is none, or it came back since."""
        told = [one for one in self.proofs if one.kind != "published"]
        return told[-1].on if told and told[-1].kind in ARRIVED else None

    @property
    def came_back(self) -> bool:
        told = [one for one in self.proofs if one.kind != "published"]
        return bool(told) and told[-1].kind == "came_back"

    @property
    def published_on(self) -> date | None:
        return min((one.on for one in self.proofs if one.kind == "published"), default=None)


@dataclass(frozen=True, slots=True)
class Dispute:
    """What is owed was disputed from `opened_on` to `settled_on`; None: it still is."""

    opened_on: date
    settled_on: date | None = None


@dataclass(frozen=True, slots=True)
class SaleCase:
    """A set that is to be sold on `day`; ready to be collected since `ready_on`."""

    ready_on: date
    day: date
    notices: tuple[Sent, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    auctioned: bool = False


@dataclass(frozen=True, slots=True)
class Against:
    """One reason why the set may not be sold yet. `is_firm`: nothing but doing it helps; else a look at the current text."""

    code: str
    words: str
    source: Source
    is_firm: bool

    @property
    def told(self) -> str:
        return f"{self.words} ({self.source.citation}; {self.source.note})"


def stopped_days(disputes: Iterable[Dispute], since: date, until: date) -> int:
    """Days from `since` to `until` on which a dispute was open: they don't count."""
    days = {
        one.opened_on + timedelta(days=more)
        for one in disputes
        for more in range(max(0, ((one.settled_on or until) - one.opened_on).days))
    }
    return sum(since <= day < until for day in days)


def last_sale(case: SaleCase) -> Sent | None:
    """The newest notice of sale: an older one counts no more."""
    return next((one for one in reversed(case.notices) if one.kind == "sale"), None)


def may_sell_from(notice: Sent, disputes: Iterable[Dispute], day: date, rule: Uncollected) -> date:
    """The day that the notice names; where disputes stop the clock, later by the days that one was open since."""
    named = notice.names_on or day
    if not rule.disputed_stops:
        return named
    kept = list(disputes)
    until = max([day, notice.sent_on, *(one.settled_on for one in kept if one.settled_on)])
    return named + timedelta(days=stopped_days(kept, notice.sent_on, until))


def against_sale(case: SaleCase, rule: Uncollected) -> list[Against]:
    """All that speaks against selling on that day, in the order in which it is put right. Nothing: it may be sold."""
    notice = last_sale(case)
    found = list(_disputed(case, rule))
    if notice is None or notice.names_on is None:
        return [
            *found,
            _firm("no_notice", "No notice of the intention to sell, which names the day, is written down", rule.source),
        ]
    if "collect" in rule.kinds and not any(one.kind == "collect" and one.sent_on <= notice.sent_on for one in case.notices):
        found.append(_by_law("no_collect", "No notice to collect went out before the notice of sale", rule.source))
    found += _too_early(case, notice, rule)
    found += _unproven(case, notice, rule)
    if rule.sale.way == "auction" and not case.auctioned:
        found.append(_by_law("auction", "The rule wants a public auction", rule.sale.source))
    return found


def _firm(code: str, words: str, source: Source) -> Against:
    return Against(code, words, source, True)


def _by_law(code: str, words: str, source: Source) -> Against:
    return Against(code, words, source, source.origin != "memory")


def _disputed(case: SaleCase, rule: Uncollected) -> Iterable[Against]:
    if any(one.settled_on is None or one.opened_on <= case.day < one.settled_on for one in case.disputes):
        if rule.disputed_stops:
            yield _firm("disputed", "What is owed is disputed; nothing is sold before that is settled", rule.source)
        else:
            yield Against(
                "disputed",
                f"What is owed is disputed. The rule names no stop for that; {CHECK} before you sell",
                rule.source,
                False,
            )


def _too_early(case: SaleCase, notice: Sent, rule: Uncollected) -> Iterable[Against]:
    from_on = may_sell_from(notice, case.disputes, case.day, rule)
    if case.day < from_on:
        yield _firm("too_early", f"It may be sold from {from_on:%d %B %Y}", rule.source)
    told_on = notice.reached_on or notice.sent_on
    least = told_on + timedelta(days=rule.notice_days)
    if notice.names_on is not None and notice.names_on < least:
        days = f"fewer than {rule.notice_days} days before the day it names"
        words = f"The notice went out on {told_on:%d %B %Y}, {days}. Send another"
        yield _by_law("short_notice", words, rule.source)
    waits_until = case.ready_on + timedelta(days=rule.wait_days)
    if notice.sent_on < waits_until:
        yield _by_law("short_wait", f"A notice of sale may go out from {waits_until:%d %B %Y}", rule.source)


def _unproven(case: SaleCase, notice: Sent, rule: Uncollected) -> Iterable[Against]:
    """Where the rule says how a notice is sent, the sale waits for the proof that it was."""
    if notice.came_back:
        yield _by_law("came_back", "The notice of sale came back: " + what_then(rule), rule.unreached.source)
    elif notice.reached_on is None and set(rule.sent_by) & set(TO_THE_PERSON):
        yield _by_law("unproven", "No receipt or signature proves that the notice of sale went out", rule.source)
    if "published" in rule.sent_by:
        yield from _unpublished(case, notice, rule)


def _unpublished(case: SaleCase, notice: Sent, rule: Uncollected) -> Iterable[Against]:
    first = notice.published_on
    if first is None:
        yield _by_law("unpublished", "No proof says that the notice of sale was published", rule.sale.source)
    elif case.day < first + timedelta(days=rule.sale.published_days):
        earliest = first + timedelta(days=rule.sale.published_days)
        yield _by_law(
            "just_published", f"Published on {first:%d %B %Y}, it may be sold from {earliest:%d %B %Y}", rule.sale.source
        )


def what_then(rule: Uncollected) -> str:
    """What is done where a notice came back, in the words of the codes."""
    return "; ".join(UNREACHED[code] for code in rule.unreached.codes)
