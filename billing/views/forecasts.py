"""How the shop's forecasts did: what was expected when estimates went out, against what was billed."""

from collections.abc import Callable
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from billing.queries.forecasts import ForecastsDid, Outcome, forecasts_did, running_error, running_share
from shop.access import role_required
from shop.models import Profile, Role
from shop.money import amount
from shop.paper.charts import Case, Cell, Chart, Charted, Level, Ratio, ScatterChart, Series, Table
from shop.paper.charts.sums import exact_sums, round_sums
from shop.web.context import shop_profile
from shop.web.pages import page_of
from shop.web.saving import Columns, file_of, sheet_of, wants_file

EMPTY = (
    "No job with a forecast is billed yet. Each estimate that goes out keeps what past jobs say it will come to; "
    "issue its invoice, and the two stand here side by side."
)


@role_required(Role.OWNER)
def forecasts(request: HttpRequest) -> HttpResponse:
    did, profile = forecasts_did(), shop_profile(request) or Profile()
    if wants_file(request):
        return file_of(request, sheet_of("forecasts", _columns(profile.currency), did.outcomes))
    newest = tuple(reversed(did.outcomes))
    context = {"did": did, "charts": _charts(did, profile), "rows": page_of(request, newest)}
    return render(request, "billing/forecasts.html", context)


def _columns(currency: str) -> Columns:
    def sums(field: str) -> Callable[[Outcome], Decimal]:
        return lambda one: amount(getattr(one, field), currency)

    return (
        ("Job", lambda one: one.number),
        ("Set", lambda one: one.model),
        ("Sent on", lambda one: one.on),
        ("Expected, low", sums("low_minor")),
        ("Expected, middle", sums("median_minor")),
        ("Expected, high", sums("high_minor")),
        ("Estimate, low", sums("estimate_low_minor")),
        ("Estimate, high", sums("estimate_high_minor")),
        ("Came to", sums("came_to_minor")),
        ("Currency", lambda one: currency),
        ("Off the middle, %", lambda one: Decimal(repr(round(one.off_percent, 1)))),
        ("Standing", lambda one: one.standing),
        ("From own jobs", lambda one: one.from_jobs),
    )


def _charts(did: ForecastsDid, profile: Profile) -> tuple[Charted, ...]:
    return _against(did, profile), _coverage(did), _error(did)


def _against(did: ForecastsDid, profile: Profile) -> ScatterChart:
    """A dot a job; below the line it came cheaper than the middle that was expected."""
    say = exact_sums(profile.currency, profile.locale)
    sums = [minor for one in did.outcomes for minor in (one.median_minor, one.came_to_minor)]
    return ScatterChart(
        "What jobs came to, against what was expected",
        "expected, the middle",
        "came to",
        [
            Case(
                one.median_minor,
                one.came_to_minor,
                f"{one.number}, {one.model}: expected {say(one.median_minor)}, came to {say(one.came_to_minor)}",
                reverse("billing:job_money", args=[one.pk]),
                int(not one.is_inside),
            )
            for one in did.outcomes
        ],
        _table(did.outcomes, profile),
        [Ratio("as expected", 1)],
        ("within the range", "beyond it"),
        round_sums(profile.currency, profile.locale, sums or [0]),
        empty=EMPTY,
    )


def _table(outcomes: tuple[Outcome, ...], profile: Profile) -> Table:
    say = exact_sums(profile.currency, profile.locale)
    heads = ("Job", "Set", "Expected", "Came to", "Standing")
    rows = [
        (
            Cell(one.number, reverse("billing:job_money", args=[one.pk])),
            Cell(one.model),
            Cell(f"{say(one.low_minor)} to {say(one.high_minor)}"),
            Cell(say(one.came_to_minor)),
            Cell(one.standing),
        )
        for one in outcomes
    ]
    return Table(heads, tuple(rows), names=2)


def _coverage(did: ForecastsDid) -> Chart:
    points = [(at, share) for at, share in enumerate(running_share(did.outcomes), 1)]
    return Chart(
        "Share of jobs within their range, so far",
        "jobs billed",
        "within, in %",
        [Series("so far", points)] if points else [],
        [Level("promised: 80 %", 80)],
        write_y=lambda value: f"{value:.0f} %",
        empty=EMPTY,
    )


def _error(did: ForecastsDid) -> Chart:
    points = [(at, off) for at, off in enumerate(running_error(did.outcomes), 1)]
    return Chart(
        "Distance from the middle, median of ten jobs",
        "jobs billed",
        "off the middle, in %",
        [Series("last ten", points)] if points else [],
        write_y=lambda value: f"{value:.0f} %",
        empty=EMPTY,
    )
