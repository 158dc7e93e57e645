"""What the owner's pages of profit draw: what was billed beside where it went, a bar a group."""

from collections.abc import Sequence

from django.urls import reverse

from billing.queries.profit import Group
from shop.paper.charts import BarChart, BarSeries
from shop.paper.charts.sums import exact_sums, round_sums

EMPTY = "No job was billed in this time. Issue an invoice, and its job has a place here."


def groups_chart(groups: Sequence[Group], word: str, currency: str, locale: str, *, upright: bool = False) -> BarChart:
    sums = [one.sums for one in groups]
    return BarChart(
        f"Billed, and where it went, by {word}",
        word.capitalize(),
        f"sums in {currency}",
        [one.name for one in groups],
        [
            BarSeries("billed", [one.net_minor for one in sums], "billed"),
            BarSeries("parts", [one.parts_cost_minor + one.scrapped_minor for one in sums], "spent"),
            BarSeries("work", [one.work_cost_minor for one in sums], "spent"),
            BarSeries("came back", [max(-one.back_minor, 0) for one in sums], "spent"),
            BarSeries("earned", [one.result_minor for one in sums], "earned"),
        ],
        write=round_sums(currency, locale, [figure for one in sums for figure in (one.net_minor, one.result_minor)]),
        tell=exact_sums(currency, locale),
        upright=upright,
        hrefs=[_list_of(one) for one in groups],
        empty=EMPTY,
    )


def _list_of(group: Group) -> str:
    """A month leads to the list of its jobs."""
    if group.first is None:
        return ""
    return f"{reverse('billing:profit')}?first={group.first}&last={group.last}"
