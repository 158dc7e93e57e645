"""What the owner's pictures show: each subject with its words, its drawings, and its table as a file."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse
from django.utils.dateformat import format as format_day

from billing.exports import groups_sheet
from billing.queries.months import MoneyByMonth, Month
from billing.queries.profit import Group
from billing.views.profit_charts import groups_chart
from inventory.queries.fullness import CabinetFill
from inventory.views.fullness import cost_chart, drawers_sheet, kinds_chart, pieces_chart
from jobs.queries.ages import AGES, StageAges
from jobs.queries.quoted import Quoted, QuotedHours
from shop import tabular
from shop.money import amount
from shop.paper.charts import BarChart, BarSeries, Case, Cell, Charted, Ratio, ScatterChart, Table, hours
from shop.paper.charts.sums import exact_sums, round_sums
from shop.paper.wording import show_lasting
from shop.tabular import Sheet
from shop.views.pictured import Pictured

# The longer, the denser: open, level, slash, cross, solid.
AGE_LOOKS = (2, 3, 1, 4, 0)
# More bars than these are higher than a sheet of paper.
MOST_CABINETS = 25


@dataclass(frozen=True, slots=True)
class Drawn:
    """One subject; `key` is how the address asks for its file."""

    key: str
    heading: str
    words: str
    charts: tuple[Charted, ...]
    sheet: Sheet


def money_drawn(money: MoneyByMonth, locale: str) -> Drawn:
    """Billed beside received beside the cost of parts. A month without money is there and empty."""
    months, code = money.months, money.currency
    chart = BarChart(
        f"Billed, received and spent on parts, {_months(months)}",
        "Month",
        f"sums in {code}",
        [format_day(month.first, "M y") for month in months],
        [
            BarSeries("labour and tasks", [month.work_minor for month in months], "billed"),
            BarSeries("parts", [month.parts_minor for month in months], "billed"),
            BarSeries("tax", [month.tax_minor for month in months], "billed"),
            BarSeries("received", [month.received_minor for month in months], "received"),
            BarSeries("cost of the parts", [month.parts_cost_minor for month in months], "cost"),
        ],
        write=round_sums(code, locale, [max(map(abs, _sums(month))) for month in months]),
        tell=exact_sums(code, locale),
        upright=True,
        empty="No bill was written and no money came in during these months. Issue an invoice, and its month has a column.",
    )
    return Drawn("money", "Money by month", _money_words(money), (chart,), _money_sheet(money))


def _months(months: Iterable[Month]) -> str:
    listed = list(months)
    return f"{format_day(listed[0].first, 'F Y')} to {format_day(listed[-1].first, 'F Y')}"


def _money_words(money: MoneyByMonth) -> str:
    words = (
        "Labour, parts and tax are what was billed less what was credited, by the day of the paper. Received is money from "
        "customers, deposits too, less what went back. The cost of the parts is what those on the bills had cost, less bills "
        "taken back whole."
    )
    if not money.elsewhere:
        return words
    are = "1 paper is" if money.elsewhere == 1 else f"{money.elsewhere} papers are"
    return f"{words} {are} in another currency and in none of these sums."


def _money_sheet(money: MoneyByMonth) -> Sheet:
    headings = ("Month", "Labour and tasks", "Parts", "Tax", "Billed with tax", "Received", "Cost of the parts", "Currency")
    rows: list[tuple[tabular.Cell, ...]] = [
        (f"{one.first:%Y-%m}", *(amount(minor, money.currency) for minor in _sums(one)), money.currency) for one in money.months
    ]
    return Sheet("money-by-month", headings, rows)


def _sums(month: Month) -> tuple[int, ...]:
    return month.work_minor, month.parts_minor, month.tax_minor, month.gross_minor, month.received_minor, month.parts_cost_minor


def drawn_of(found: Pictured, locale: str) -> list[Drawn]:
    """Every subject, in the order of the page."""
    return [
        money_drawn(found.money, locale),
        profit_drawn(found.groups, found.hour_cost_minor, found.currency, locale),
        hours_drawn(found.hours),
        ages_drawn(found.ages, found.on),
        drawers_drawn(found.cabinets, found.currency, locale),
    ]


def profit_drawn(groups: Sequence[Group], hour_cost_minor: int, currency: str, locale: str) -> Drawn:
    """What was billed beside where it went, by the month of a job's first bill. A month without a bill isn't there."""
    chart = groups_chart(groups, "month of the first bill", currency, locale, upright=True)
    words = (
        "Jobs by the month of their first bill: what was billed, less parts and hours at cost and what came back under warranty "
        "later on. The pages of profit lay each job open."
    )
    if not hour_cost_minor:
        words += " What an hour costs isn't written down with the shop's terms yet, so hours count as nothing."
    return Drawn("profit", "What jobs earned", words, (chart,), groups_sheet(groups, "month", currency))


def hours_drawn(found: QuotedHours) -> Drawn:
    """A dot a job: hours quoted to the right, hours worked upwards."""
    ratios = [Ratio("as quoted", 1.0)]
    if found.median_ratio is not None:
        ratios.append(Ratio(f"median: {found.median_ratio:.2f} h for each hour", found.median_ratio))
    chart = ScatterChart(
        "Hours worked against hours quoted, a dot a job",
        "hours quoted",
        "hours worked",
        [_case(job) for job in found.jobs],
        _hours_table(found),
        ratios,
        ("quoted once", "quoted again when more was found"),
        hours,
        empty="No job with quoted hours became ready in these months. Type the hours of labour on an estimate and log the time.",
    )
    return Drawn("hours", "Quoted and worked", _hours_words(found), (chart,), _hours_sheet(found))


def _case(job: Quoted) -> Case:
    said = f"{job.number}, {job.model}: quoted {show_lasting(job.last_minutes)}, took {show_lasting(job.worked_minutes)}"
    return Case(job.last_minutes / 60, job.worked_minutes / 60, said, reverse("jobs:job", args=[job.pk]), int(job.times > 1))


def _whose(found: QuotedHours) -> str:
    if not found.older:
        return "Jobs that became ready in these months"
    return f"The {found.read} jobs that became ready last; {found.older} more of these months aren't read"


def _hours_words(found: QuotedHours) -> str:
    words = (
        f"{_whose(found)}: the hours of labour agreed to, at the high end, against all time logged "
        "outside tasks at a fixed price. Above the line a job took longer than quoted."
    )
    if found.median_ratio is not None and found.median_first_ratio is not None:
        words += (
            f" Half of the jobs took more than {found.median_ratio:.2f} h for each hour agreed to last, "
            f"and {found.median_first_ratio:.2f} h for each agreed to at first."
        )
    if not found.left_out:
        return words
    why = "; ".join(f"{count}: {reason}" for reason, count in found.left_out)
    are = "1 job is" if found.left_out_count == 1 else f"{found.left_out_count} jobs are"
    return f"{words} {are} left out ({why})."


def _hours_table(found: QuotedHours) -> Table:
    heads = ("Job", "Set", "Quoted at first", "Quoted at last", "Worked", "Worked for each hour quoted")
    rows = [
        (
            Cell(job.number, reverse("jobs:job", args=[job.pk])),
            Cell(job.model),
            *(Cell(show_lasting(minutes)) for minutes in (job.first_minutes, job.last_minutes, job.worked_minutes)),
            Cell(f"{job.ratio:.2f} h"),
        )
        for job in found.jobs
    ]
    return Table(heads, tuple(rows), names=2)


def _hours_sheet(found: QuotedHours) -> Sheet:
    headings = ("Job", "Set", "Quoted at first, minutes", "Quoted at last, minutes", "Times quoted", "Worked, minutes", "Ratio")
    rows = [
        (
            job.number,
            job.model,
            job.first_minutes,
            job.last_minutes,
            job.times,
            job.worked_minutes,
            Decimal(job.worked_minutes * 1000 // job.last_minutes) / 1000,
        )
        for job in found.jobs
    ]
    return Sheet("quoted-and-worked", headings, rows)


def ages_drawn(found: Sequence[StageAges], on: date) -> Drawn:
    """A bar a stage, its pieces by the weeks that sets have been in the house."""
    chart = BarChart(
        f"Sets in the house on {format_day(on, 'j F Y')}, by the weeks since they were taken in",
        "Stage",
        "sets",
        [one.label for one in found],
        [BarSeries(label, [one.counts[at] for one in found], "sets", AGE_LOOKS[at]) for at, (label, _) in enumerate(AGES)],
        whole=True,
        hrefs=[f"{reverse('jobs:list')}?stage={one.stage}" for one in found],
        empty="No set is in the house. Take one in, and it stands here at its stage.",
    )
    oldest = max(found, key=lambda one: one.oldest_days, default=None)
    words = "Where the sets that are here stand in the work. The denser a piece is filled, the longer its sets have been here."
    if oldest is not None and oldest.jobs:
        words += f" The oldest came {oldest.oldest_days} days ago and is at “{oldest.label}”."
    headings = ("Stage", *(label for label, _ in AGES), "In all", "Oldest, days")
    rows: list[tuple[tabular.Cell, ...]] = [(one.label, *one.counts, one.jobs, one.oldest_days) for one in found]
    return Drawn("stages", "Sets in the house", words, (chart,), Sheet("sets-in-the-house", headings, rows))


def drawers_drawn(cabinets: Sequence[CabinetFill], currency: str, locale: str) -> Drawn:
    """Pieces, kinds against their minimum, and cost, a bar a cabinet, in their order; of many those with the most pieces."""
    fullest = {one.name for one in sorted(cabinets, key=lambda one: -one.whole.pieces)[:MOST_CABINETS]}
    fills = [one.whole for one in cabinets if one.name in fullest]
    charts = (pieces_chart(fills, "Cabinet"), kinds_chart(fills, "Cabinet"), cost_chart(fills, "Cabinet", currency, locale))
    words = "Pieces on hand, kinds of parts against the minimum on their cards, what the pieces cost. The file has every drawer."
    if len(fills) < len(cabinets):
        words += f" Shown are the {len(fills)} of {len(cabinets)} cabinets with the most pieces."
    return Drawn("drawers", "What lies in the cabinets", words, charts, drawers_sheet(cabinets, currency, sees_money=True))
