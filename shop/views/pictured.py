"""What the owner's pictures are drawn from: read anew in a small shop, else as it was counted."""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import date, datetime
from typing import Any

from django.utils.timezone import localdate

from billing.queries.accounts import end_of, start_of
from billing.queries.months import MoneyByMonth, Month, money_by_month, months_until
from billing.queries.profit import Group, Summed, groups_of, profits
from inventory.queries.fullness import CabinetFill, Fill, fill_of_cabinets
from inventory.queries.house.size import stock_is_small
from jobs.models import Job
from jobs.queries.ages import StageAges, ages_by_stage
from jobs.queries.quoted import Quoted, QuotedHours, quoted_hours
from shop.models import Profile
from shop.tallies import Counting, Question, Sums, few

USUAL_MONTHS = 12
# Measured: so many jobs, with a stock that is small, are read within some 50 ms of processor time.
MOST_JOBS_AT_A_LOOK = 300


@dataclass(frozen=True, slots=True)
class Pictured:
    """`on`: as of which day. What was counted has no single drawers: only files show these."""

    on: date
    currency: str
    hour_cost_minor: int
    money: MoneyByMonth
    groups: Sequence[Group]
    hours: QuotedHours
    ages: Sequence[StageAges]
    cabinets: Sequence[CabinetFill]


def pictured(months: int, on: date, profile: Profile) -> Pictured:
    period = months_until(on, months)
    earned = profits(profile, first=period.first, last=period.last)
    return Pictured(
        on,
        profile.currency,
        earned.hour_cost_minor,
        money_by_month(period, profile.currency),
        groups_of(earned, "month"),
        quoted_hours(start_of(period.first), end_of(period.last)),
        ages_by_stage(on),
        fill_of_cabinets(),
    )


def asked(months: int) -> Question:
    return {} if months == USUAL_MONTHS else {"months": str(months)}


def count(question: Question, at: datetime) -> Sums:
    found = pictured(int(question.get("months") or USUAL_MONTHS), localdate(at), Profile.current() or Profile())
    money, hours = found.money, found.hours
    return Sums(
        {
            "on": found.on.isoformat(),
            "currency": found.currency,
            "hour_cost_minor": found.hour_cost_minor,
            "months": [[one.first.isoformat(), *astuple(one)[1:]] for one in money.months],
            "elsewhere": money.elsewhere,
            "groups": [[one.name, astuple(one.sums), one.order, _said(one.first), _said(one.last)] for one in found.groups],
            "hours": [astuple(one) for one in hours.jobs],
            "left_out": hours.left_out,
            "older": hours.older,
            "ages": [astuple(one) for one in found.ages],
            "cabinets": [astuple(one.whole) for one in found.cabinets],
        }
    )


def _is_small() -> bool:
    return few(Job, most=MOST_JOBS_AT_A_LOOK) and stock_is_small()


PICTURES = Counting("shop:pictures", "The shop in pictures", count, _is_small)


def _said(day: date | None) -> str:
    return day.isoformat() if day else ""


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def pictured_as_counted(figures: dict[str, Any]) -> Pictured:
    """What `count` wrote."""
    code = figures["currency"]
    months = tuple(Month(date.fromisoformat(first), *sums) for first, *sums in figures["months"])
    groups = [Group(name, Summed(*sums), order, _day(first), _day(last)) for name, sums, order, first, last in figures["groups"]]
    left_out = tuple((why, count) for why, count in figures["left_out"])
    return Pictured(
        date.fromisoformat(figures["on"]),
        code,
        figures["hour_cost_minor"],
        MoneyByMonth(months, code, figures["elsewhere"]),
        groups,
        QuotedHours(tuple(Quoted(*one) for one in figures["hours"]), left_out, figures["older"]),
        [StageAges(stage, tuple(counts), oldest) for stage, counts, oldest in figures["ages"]],
        [CabinetFill(Fill(*one), ()) for one in figures["cabinets"]],
    )
