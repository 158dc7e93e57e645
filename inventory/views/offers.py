"""A supplier's offers, and which of our cards each one is."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.exports import offers_sheet
from inventory.models import Offer, Part
from inventory.queries.offer_list import SHOW, offer_counts, offers_matching, page_of_offers
from inventory.queries.offers_of import OfferLine, line_of
from inventory.queries.suggestions import suggest_parts
from inventory.services.offers import link_offer, link_offers
from inventory.views.acting import terms
from inventory.views.parts import found_parts
from inventory.views.price_lists import supplier_of
from shop import acts
from shop.access import EVERYBODY, role_required
from shop.acts import Refused
from shop.models import Role
from shop.web.pages import Undo, answer_once, refuse
from shop.web.press import press
from shop.web.saving import file_of, wants_file

LONGEST_ASKED = 80
LONGEST_CODE = 60


@dataclass(frozen=True, slots=True)
class OfferRow:
    """An offer with its prices and the cards it may be."""

    line: OfferLine
    suggested: list[Part]


@role_required(*EVERYBODY)
def offers(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = supplier_of(pk)
    text, show = request.GET.get("q", "")[:LONGEST_ASKED], request.GET.get("show", "")
    show = show if show in SHOW else ""
    if wants_file(request):
        return file_of(request, offers_sheet(supplier, offers_matching(supplier, text, show)))
    after, before = (request.GET.get(name, "").replace("\0", "")[:LONGEST_CODE] for name in ("after", "before"))
    page = page_of_offers(offers_matching(supplier, text, show), after, before)
    suggested = suggest_parts(page.offers)
    for one in page.offers:
        one.supplier = supplier
    currency = terms(request).currency
    rows = [OfferRow(line_of(one, currency), suggested.get(one.pk, [])) for one in page.offers]
    context = {"supplier": supplier, "page": page, "rows": rows, "text": text, "show": show, "choices": SHOW.items()}
    context |= {"counts": offer_counts(supplier), "any_suggested": any(row.suggested for row in rows)}
    return render(request, "inventory/offer_list.html", context)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def offers_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Links what was ticked, each `same` being an offer and a card as `12:34`."""
    supplier = supplier_of(pk)
    address = reverse("inventory:offers", args=[pk])
    back = f"{address}?{request.GET.urlencode()}" if request.GET else address
    linked: list[int] = []

    def work() -> str:
        linked.append(link_offers(supplier, _ticked(request.POST.getlist("same"))))
        return back

    try:
        where, done = acts.once(request.POST.get("once"), "link offers", work)
    except Refused as refused:
        return refuse(request, refused.message, back=back)
    said = f"{sum(linked)} offer{'' if sum(linked) == 1 else 's'} linked. They are shown on the pages of their cards."
    return answer_once(request, where, done, said)


def _ticked(pairs: list[str]) -> dict[int, int]:
    found: dict[int, int] = {}
    for pair in pairs:
        offer, _, part = pair.partition(":")
        if not (_is_key(offer) and _is_key(part)):
            raise Refused("This form was incomplete when it arrived. Load the page again and repeat the entry.")
        if found.setdefault(int(offer), int(part)) != int(part):
            raise Refused("Two cards are ticked for one offer. Tick the one it is.")
    return found


def _is_key(text: str) -> bool:
    return text.isdecimal() and text.isascii() and len(text) < 19


@role_required(*EVERYBODY)
def offer(request: HttpRequest, pk: int) -> HttpResponse:
    """One offer: its prices, its card, and choosing another card by looking for it."""
    one = _offer(pk)
    text = request.GET.get("q", "")[:LONGEST_ASKED]
    suggested = suggest_parts([one]).get(one.pk, [])
    context = {"offer": one, "line": line_of(one, terms(request).currency), "text": text, "found": found_parts(text)}
    return render(request, "inventory/offer.html", {**context, "suggested": suggested})


def _offer(pk: int) -> Offer:
    return get_object_or_404(Offer.objects.select_related("supplier", "part", "price_list"), pk=pk)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def offer_link(request: HttpRequest, pk: int) -> HttpResponse:
    """`part` is the card's key, or empty for none; `seen` the card that the page showed."""
    one, address = _offer(pk), reverse("inventory:offer", args=[pk])
    before, wanted = request.POST.get("seen", ""), request.POST.get("part", "")

    def work() -> None:
        for key in (before, wanted):
            if key and not _is_key(key):
                raise Refused("This form was incomplete when it arrived. Load the page again and repeat the entry.")
        part = Part.objects.filter(pk=int(wanted)).first() if wanted else None
        if wanted and part is None:
            raise Refused("There is no such card any more. Look for another.")
        link_offer(one, part, seen=int(before) if before else None)

    said = "It is linked: the card's page shows this offer." if wanted else "It is linked to no card now."
    undo = Undo(reverse("inventory:offer_link", args=[pk]), "Undo", {"part": before, "seen": wanted})
    return press(request, "link offer", work, address, said, undo)
