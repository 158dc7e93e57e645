"""How full the cabinets are, and drawer by drawer those of one."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any, Protocol

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode

from inventory.queries.fullness import CabinetFill, Fill, fill_of_cabinets, together
from inventory.queries.house.fullness import FULLNESS, cabinets_shown, fills_shown
from shop.access import EVERYBODY, may, role_required
from shop.models import Profile, Role
from shop.money import amount
from shop.paper.charts import BarChart, BarSeries, Charted
from shop.paper.charts.sums import exact_sums, round_sums
from shop.tabular import Sheet
from shop.web.context import shop_profile
from shop.web.saving import Columns, file_of, sheet_of, wants_file
from shop.web.tallied import count_now, tallied

MOST_CABINETS = 40
"""Of more cabinets than this the fullest are drawn."""
MOST_DRAWERS = 40
"""More drawers than this in a cabinet are shown by tray."""
NOTHING_LIES = "Nothing lies here. Receive parts into a drawer, and it has a bar."


class Named(Protocol):
    @property
    def name(self) -> str: ...


@role_required(*EVERYBODY)
def fullness(request: HttpRequest) -> HttpResponse:
    """All cabinets; `?cabinet=` shows the drawers of one. What parts cost is the owner's to see."""
    profile, sees_money = shop_profile(request) or Profile(), may(request.user, Role.OWNER)
    if wants_file(request):
        return _file(request, profile.currency, sees_money=sees_money)
    if request.method == "POST":
        return count_now(request, FULLNESS, {})
    found = tallied(request, FULLNESS, {})
    listed = cabinets_shown(found.figures)
    chosen = _chosen(request, listed)
    if chosen:
        fills, of_what = _drawers(fills_shown(found.between(chosen.start, chosen.stop))), "Drawer"
    else:
        fills, of_what = _fullest([one.whole for one in listed]), "Cabinet"
    charts: list[Charted] = [pieces_chart(fills, of_what), kinds_chart(fills, of_what)]
    if sees_money:
        charts.append(cost_chart(fills, of_what, profile.currency, profile.locale))
    context = {
        "tallied": found,
        "cabinets": listed,
        "chosen": chosen,
        "charts": charts,
        "shown": chosen.whole if chosen else together("", [one.whole for one in listed]),
        "left_out": 0 if chosen else len(listed) - len(fills),
    }
    return render(request, "inventory/fullness.html", context)


def _chosen(request: HttpRequest, listed: Sequence[Named]) -> Any:
    return next((one for one in listed if one.name == request.GET.get("cabinet")), None)


def _file(request: HttpRequest, currency: str, *, sees_money: bool) -> HttpResponse:
    """Counted for itself, whatever the page shows."""
    listed = fill_of_cabinets()
    chosen = _chosen(request, listed)
    return file_of(request, drawers_sheet([chosen] if chosen else listed, currency, sees_money=sees_money))


def drawers_sheet(listed: Sequence[CabinetFill], currency: str, *, sees_money: bool) -> Sheet:
    """Every drawer as a row, for a file."""
    rows = [(cabinet.name, fill) for cabinet in listed for fill in cabinet.drawers]
    return sheet_of("drawers", _columns(currency, sees_money), rows)


def _columns(currency: str, sees_money: bool) -> Columns:
    cost: Columns = (("Cost", lambda row: amount(row[1].cost_minor, currency)), ("Currency", lambda row: currency))
    return (
        ("Cabinet", lambda row: row[0]),
        ("Drawer", lambda row: row[1].name),
        ("Free", lambda row: row[1].free),
        ("Held", lambda row: row[1].held),
        *(cost if sees_money else ()),
        ("Kinds kept", lambda row: row[1].kept),
        ("Kinds short", lambda row: row[1].short),
        ("Kinds without a minimum", lambda row: row[1].plain),
    )


def _drawers(drawers: list[Fill]) -> list[Fill]:
    if len(drawers) <= MOST_DRAWERS:
        return drawers
    return [together(tray, list(fills)) for tray, fills in groupby(drawers, lambda one: one.tray)]


def _fullest(cabinets: list[Fill]) -> list[Fill]:
    """In their own order."""
    least = sorted((one.pieces for one in cabinets), reverse=True)[:MOST_CABINETS][-1:]
    return [one for one in cabinets if [one.pieces] >= least][:MOST_CABINETS]


def _hrefs(fills: Sequence[Fill], of_what: str) -> list[str]:
    """A drawer's own page; a cabinet's drawers on this one; a tray has none."""
    if of_what == "Cabinet":
        address = reverse("inventory:fullness")
        return [f"{address}?{urlencode({'cabinet': fill.name})}" for fill in fills]
    return [reverse("inventory:drawer", args=[fill.pk]) if fill.pk else "" for fill in fills]


def pieces_chart(fills: Sequence[Fill], of_what: str) -> BarChart:
    series = [
        BarSeries("free", [one.free for one in fills], "pieces"),
        BarSeries("held for jobs", [one.held for one in fills], "pieces"),
    ]
    names, hrefs = [one.name for one in fills], _hrefs(fills, of_what)
    return BarChart("Pieces on hand", of_what, "pieces", names, series, whole=True, hrefs=hrefs, empty=NOTHING_LIES)


def kinds_chart(fills: Sequence[Fill], of_what: str) -> BarChart:
    """Looks: enough is open, too few is solid, so that what is missing is what one sees."""
    series = [
        BarSeries("fewer free than to be kept", [one.short for one in fills], "kinds", 0),
        BarSeries("enough to keep the minimum", [one.kept for one in fills], "kinds", 3),
        BarSeries("no minimum on the card", [one.plain for one in fills], "kinds", 2),
    ]
    names, hrefs = [one.name for one in fills], _hrefs(fills, of_what)
    return BarChart(
        "Kinds of parts against the minimum on their cards",
        of_what,
        "kinds of parts",
        names,
        series,
        whole=True,
        hrefs=hrefs,
        empty=NOTHING_LIES,
    )


def cost_chart(fills: Sequence[Fill], of_what: str, currency: str, locale: str) -> BarChart:
    return BarChart(
        "What the pieces cost",
        of_what,
        f"cost in {currency}",
        [one.name for one in fills],
        [BarSeries("cost", [one.cost_minor for one in fills])],
        write=round_sums(currency, locale, [one.cost_minor for one in fills]),
        tell=exact_sums(currency, locale),
        hrefs=_hrefs(fills, of_what),
        empty=NOTHING_LIES,
    )
