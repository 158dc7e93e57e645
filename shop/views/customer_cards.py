"""Customers out of address cards: read, shown beside those that are in the book already, then written down."""

from collections.abc import Collection, Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop import acts, long_work
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.address_cards.matching import match_cards, write_cards
from shop.address_cards.reading import BadCard, Card
from shop.clock import now
from shop.forms.cards import CardsForm, WriteCardsForm, carried
from shop.long_work import Asked
from shop.models import Role
from shop.web.pages import answer_once
from shop.web.work_line import remember

# More than these are written in the background, with progress and a stop.
AT_ONCE = 25
BEGUN = "They are being written. This page says how far that got; you may go on working meanwhile."


@role_required(Role.COUNTER)
def customer_cards(request: HttpRequest) -> HttpResponse:
    """Sent, it shows what was read. Nothing is written yet."""
    form = CardsForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        read = form.read()
        preview = WriteCardsForm(initial={"cards": carried(read.cards)})
        return _preview(request, preview, read.cards, {one.number for one in match_cards(read.cards) if one.is_new}, read.bad)
    return render(request, "shop/customer_cards.html", {"form": form}, status=form.status)


def _preview(
    request: HttpRequest, form: WriteCardsForm, cards: Sequence[Card], ticked: Collection[int], bad: Sequence[BadCard] = ()
) -> HttpResponse:
    matched = match_cards(cards)
    context = {
        "form": form,
        "rows": [(one, one.number in ticked) for one in matched],
        "bad": bad,
        "new": sum(one.is_new for one in matched),
    }
    return render(request, "shop/customer_cards_preview.html", context, status=form.status)


@role_required(Role.COUNTER)
def customer_cards_write(request: HttpRequest) -> HttpResponse:
    """Writes those that were chosen; asked for as a page, it is the beginning."""
    if request.method != "POST":
        return customer_cards(request)
    form = WriteCardsForm(request.POST)
    if form.is_valid():
        try:
            where, done = acts.once(form.cleaned_data["once"], "customers from cards", lambda: _write(request, form.chosen()))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, where, done, BEGUN if where == reverse("shop:works") else _said(form.chosen()))
    if not form.read:
        return render(request, "shop/customer_cards.html", {"form": CardsForm(), "lost": form}, status=form.status)
    ticked = {int(text) for text in request.POST.getlist("take") if text.isascii() and text.isdecimal() and len(text) < 6}
    return _preview(request, form, form.read, ticked)


def _said(chosen: Sequence[Card]) -> str:
    return "The customer's card is written." if len(chosen) == 1 else "The customers' cards are written. Look them through below."


def _write(request: HttpRequest, chosen: list[Card]) -> str:
    """The address to go to. What a stranger wrote on a card may still be refused, and then nothing of these few is kept."""
    if len(chosen) > AT_ONCE:
        asked = Asked(
            "customers_from_cards", f"{len(chosen)} customers from address cards", {"cards": [one.as_json() for one in chosen]}
        )
        remember(request, long_work.begin(asked, person=staff_of(request), at=now(), back=reverse("shop:customers")))
        return reverse("shop:works")
    written = write_cards(chosen, at=now())
    if not written:
        raise Refused("Each of these stands in the book already, just so. Nothing was written.")
    return reverse("shop:customer", args=[written[0].pk]) if len(written) == 1 else reverse("shop:customers")
