"""The year's end: what was there and what was owed, read as it had been written down by the end of the day.

So nothing that happens later changes a past year's figures. Only what a person dates back on purpose does: a write-down, as what
is learnt after the day may tell what something was worth on it (IAS 2, paragraph 30). `late` and `unknown` say what isn't in it
and what isn't kept by date.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Sum

from billing.models import UncollectedSale
from billing.queries.accounts import end_of
from billing.queries.ageing import Ageing, ageing
from billing.queries.periods import Period
from billing.queries.tax_report import TaxReport, tax_report
from billing.queries.year_end.held import Held, deposits_held, supplier_claims_open, surplus_held
from billing.queries.year_end.warranties import reserve_on
from billing.queries.year_end.wip import OpenJob, work_in_progress
from inventory.models import Writedown
from inventory.queries.supplier_claims import ClaimStanding
from inventory.queries.valuing import StockValue, value_on
from jobs.forecast.reserve import Reserve
from jobs.models import LabourEntry
from shop.models import Profile
from shop.money import show
from shop.paper.wording import show_lasting


@dataclass(frozen=True)
class YearEnd:
    """All as it stood at the end of `day`; `period` is the year that ends with it. Minor units of `currency`."""

    day: date
    period: Period
    currency: str
    locale: str
    hour_cost_minor: int
    stock: StockValue
    wip: Sequence[OpenJob]
    aged: Ageing
    deposits: Sequence[Held]
    surplus: Sequence[Held]
    reserve: Reserve
    tax: TaxReport
    supplier_claims: Sequence[ClaimStanding]
    late: Sequence[str]

    def show(self, minor: int) -> str:
        return show(minor, self.currency, self.locale)

    @property
    def unknown(self) -> tuple[str, ...]:
        return (
            *self.late,
            f"What an hour costs isn't kept by date: {self.show(self.hour_cost_minor)} is taken; another can be asked for.",
            "What it would still have cost to finish open jobs is not taken off (IAS 2, paragraph 6), as nobody wrote it down.",
            "Markup ladders, what the hour pays for, and the tax on a fee agreed to at the counter are today's. "
            "None of them lifts anything above its cost.",
            "Names of customers and sets are today's.",
            "Bank and cash, what was paid to suppliers, wages, rent and tools are not in these books.",
        )


def year_end(day: date, terms: Profile, hour_cost_minor: int | None = None) -> YearEnd:
    """`hour_cost_minor`: what an hour cost then, where it was another than today's. The same number of queries for any day."""
    end, period = end_of(day), year_until(day)
    hour = terms.hour_cost_minor if hour_cost_minor is None else hour_cost_minor
    return YearEnd(
        day=day,
        period=period,
        currency=terms.currency,
        locale=terms.locale,
        hour_cost_minor=hour,
        stock=value_on(day),
        wip=work_in_progress(day, end, terms, hour),
        aged=ageing(day),
        deposits=deposits_held(day, end, terms.currency),
        surplus=surplus_held(day, end),
        reserve=reserve_on(day, end, terms.currency, hour),
        tax=tax_report(period),
        supplier_claims=supplier_claims_open(end),
        late=tuple(_late(day)),
    )


def year_until(day: date) -> Period:
    """Twelve months that end with the day; `2026` where that is a calendar year."""
    after = day + timedelta(days=1)
    try:
        first = after.replace(year=after.year - 1)
    except ValueError:  # 29 February
        first = after.replace(year=after.year - 1, month=3, day=1)
    is_calendar = (first.month, first.day) == (1, 1)
    return Period(first, day, f"{day.year}" if is_calendar else "", f"the year {day.year}" if is_calendar else "")


def _late(day: date) -> Iterable[str]:
    """What was written down after the day and dated to it or before it."""
    end = end_of(day)
    worked = LabourEntry.objects.filter(worked_on__lte=day, at__gte=end, corrected_by__isnull=True, withdrawn=False)
    minutes = worked.filter(corrects__isnull=True).aggregate(sum=Sum("minutes"))["sum"]
    if minutes:
        yield f"{show_lasting(minutes)} worked by that day were written down later and are not in it."
    down = Writedown.objects.filter(from_on__lte=day, at__gte=end).count()
    if down:
        yield f"{_count(down, 'write-down')} dated to that day or before came later, and count: a person dated them so."
    sales = UncollectedSale.objects.filter(sold_on__lte=day, at__gte=end).count()
    if sales:
        yield f"{_count(sales, 'sale')} of uncollected sets, dated to that day or before, came later, and are not in it."


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
