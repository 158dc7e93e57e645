"""The clocks of keeping of all customers, as they were counted: a line a customer, by key, and how many have ended."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.utils.timezone import localdate

from jobs.models import Job
from jobs.queries.personal import Record
from shop.jurisdictions.rules import Retention, Source
from shop.models import Customer, Profile
from shop.personal.keeping import Clock, clocks
from shop.place import rules_of
from shop.tallies import Counting, Line, Question, Sums, few

# Measured: the clocks of so many customers and jobs are reckoned within some 50 ms of processor time.
MOST_AT_A_LOOK = 300


def shown_of(found: Sequence[Clock], show: str, day: date) -> Sequence[Clock]:
    if show == "ended":
        return [one for one in found if one.has_ended(day)]
    return [one for one in found if one.holds] if show == "held" else found


def count(question: Question, at: datetime) -> Sums:
    day = localdate(at)
    found = clocks(day, rules_of(Profile.current()))
    figures = {"ended": sum(one.has_ended(day) for one in found), "any": bool(found)}
    return Sums(figures, [_written(one) for one in shown_of(found, question.get("show", ""), day)])


def _is_small() -> bool:
    return few(Customer, Job, most=MOST_AT_A_LOOK)


def _usual() -> Iterable[Question]:
    return ({}, {"show": "ended"}, {"show": "held"})


KEEPING_TIME = Counting("shop:keeping_time", "Time of keeping", count, _is_small, _usual)


def _written(one: Clock) -> Line:
    """Nothing of the person: their key, days, the rule, what sort of paper is the newest, what holds it by numbers of papers."""
    days = one.since_on.isoformat(), one.until_on.isoformat()
    newest = [one.newest.job_pk, one.newest.what] if one.newest else []
    return [one.customer.pk, *days, one.rule.source.citation, one.rule.years, newest, list(one.holds)]


def clocks_as_counted(lines: Sequence[Line]) -> list[Clock]:
    """One query for the names of today. Cards are never deleted."""
    customers = Customer.objects.in_bulk([line[0] for line in lines])
    return [_read(customers[line[0]], *line[1:]) for line in lines]


def _read(customer: Customer, since: str, until: str, citation: str, years: int, newest: Line, holds: list[str]) -> Clock:
    since_on = date.fromisoformat(since)
    rule = Retention(Source("", citation, ""), years)
    record = Record(customer.pk, newest[0], since_on, newest[1]) if newest else None
    return Clock(customer, since_on, date.fromisoformat(until), rule, record, tuple(holds))
