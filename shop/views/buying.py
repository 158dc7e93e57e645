"""What to buy, where it costs least, and the orders for it."""

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from inventory.models import Offer, Order
from inventory.queries.baskets import Pick, basket_for, source_of
from inventory.queries.offers_of import offers_for
from inventory.services.buying import BoughtLine, orders_seen, write_orders
from jobs.queries.wanted import buy_list as everything_to_buy
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.models import Role
from shop.views.buy_rows import Rows, added_of, bench_days_of, rows_of
from shop.web.context import shop_currency
from shop.web.forms import SeenForm
from shop.web.pages import answer_once, page_of

NOTHING_TICKED = "Nothing is ticked. Tick what is to be bought, then ask again."


class WriteOrdersForm(SeenForm):
    """Its lines come with it as they were shown: `line` holds offer, count and price, one field a line."""


@role_required(*EVERYBODY)
def buy_list(request: HttpRequest) -> HttpResponse:
    return _show_list(request, _rows(request.GET))


def _rows(typed: QueryDict) -> Rows:
    days, _, _ = bench_days_of(typed)
    listed = everything_to_buy(days, added_of(typed))
    return rows_of(typed, listed, offers_for({one.part.pk for one in listed.wanted}))


def _show_list(request: HttpRequest, rows: Rows, error: str = "") -> HttpResponse:
    context = {
        "rows": rows,
        "cardless": page_of(request, rows.listed.cardless),
        "added": added_of(request.GET),
        "error": error,
        "is_empty": not rows.rows and not rows.listed.cardless,
    }
    return render(request, "shop/buying_list.html", context, status=422 if error or rows.has_errors else 200)


@role_required(*EVERYBODY)
def buy_basket(request: HttpRequest) -> HttpResponse:
    """The cheapest basket for what the address says is ticked. Sent as a form, its orders are written as they were shown."""
    rows = _rows(request.GET)
    if request.method == "POST":
        return _write(request, rows)
    return _show_basket(request, rows, WriteOrdersForm())


def _show_basket(request: HttpRequest, rows: Rows, form: WriteOrdersForm) -> HttpResponse:
    if not rows.picks:
        told = " ".join(map(str, form.non_field_errors())) or NOTHING_TICKED
        return _show_list(request, rows, "" if rows.has_errors else told)
    basket = basket_for(rows.picks, today(), shop_currency())
    seen = orders_seen({line.part.pk for line in basket.lines})
    if form.is_bound:
        form.see(seen)
    form.initial["seen"] = seen
    context = {"basket": basket, "form": form, "query": request.GET.urlencode()}
    return render(request, "shop/buying_basket.html", context, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
def _write(request: HttpRequest, rows: Rows) -> HttpResponse:
    form = WriteOrdersForm(request.POST)
    if form.is_valid():
        try:
            address, done = acts.once(form.cleaned_data["once"], "write a basket's orders", lambda: _orders(request, rows, form))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, address, done, said=_said(address))
    return _show_basket(request, rows, form)


def _orders(request: HttpRequest, rows: Rows, form: WriteOrdersForm) -> str:
    lines = _lines(request.POST.getlist("line"), rows.picks)
    wanted = {pick.part.pk for pick in rows.picks}
    written = write_orders(lines, wanted, seen=form.cleaned_data["seen"], person=staff_of(request), at=now())
    return _address(written)


def _address(written: list[Order]) -> str:
    return reverse("inventory:order", args=[written[0].pk]) if len(written) == 1 else reverse("inventory:orders")


def _said(address: str) -> str:
    if address == reverse("inventory:orders"):
        return "The basket's orders are written and not sent yet. Look each over, then send it."
    return "The basket's order is written and not sent yet. Look it over, then send it."


def _lines(sent: list[str], picks: list[Pick]) -> list[BoughtLine]:
    """The lines as shown, each with what the list says it is for."""
    shown = [_shown(text) for text in sent]
    offers = Offer.objects.select_related("supplier").in_bulk([pk for pk, _, _ in shown])
    return [_line(offers.get(pk), pk, count, unit_milli, picks) for pk, count, unit_milli in shown]


def _shown(text: str) -> tuple[int, int, int]:
    pieces = text.split(":")
    if len(pieces) != 3 or not all(one.isascii() and one.isdecimal() and len(one) < 16 for one in pieces):
        raise Refused("This form was incomplete when it arrived. The basket below is reckoned anew: check it and send it again.")
    return int(pieces[0]), int(pieces[1]), int(pieces[2])


def _line(offer: Offer | None, pk: int, count: int, unit_milli: int, picks: list[Pick]) -> BoughtLine:
    own = [pick for pick in picks if offer is not None and pick.part.pk == offer.part_id]
    words = dict.fromkeys(word for pick in own for word in pick.for_what.split(", ") if word)
    needed_on = min((pick.needed_on for pick in own if pick.needed_on), default=None)
    expected_on = source_of(offer).arrives_on(today()) if offer and offer.breaks else None
    return BoughtLine(pk, count, unit_milli, ", ".join(words), needed_on, expected_on)
