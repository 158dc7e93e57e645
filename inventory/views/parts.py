"""Parts: the list, the card, writing and correcting it, holds on it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory import services
from inventory.filters import ALL, PartFilter
from inventory.forms.part import PartChangeForm, PartForm, values_of
from inventory.models import Hold, Part
from inventory.pricing import price_terms
from inventory.queries.lots import ledger
from inventory.queries.offers_of import offer_lines
from inventory.queries.orders import coming_of
from inventory.queries.parts import lot_lines, open_holds, parts_matching, price_of, with_lots
from inventory.queries.shortages import standing_of
from inventory.tables import PartTable, job_link, rating_of
from inventory.views.acting import carry_out, terms
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.forms.compare import standing_now
from shop.models import Role, Staff
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import answer_once, page_of, wants_fragment
from shop.web.press import press
from shop.web.saving import file_of, table_sheet, wants_file

MOST_FOUND = 10


@role_required(*EVERYBODY)
@as_left("inventory:parts", {"q": "", "kind": "", "technology": "", "safety_class": "", "show": ALL}, PartFilter)
def part_list(request: HttpRequest) -> HttpResponse:
    found = PartFilter(request.GET, queryset=Part.objects.with_stock())
    table = PartTable(with_lots(found.qs), prices=price_terms())
    leaf_through(request, table, shown=with_lots(Part.objects.with_stock()))
    if wants_file(request):
        return file_of(request, table_sheet("parts", table))
    any_part = bool(table.page.object_list) or Part.objects.exists()
    return render(request, "inventory/part_list.html", {"found": found, "table": table, "any_part": any_part})


@role_required(*EVERYBODY)
def part_lookup(request: HttpRequest) -> HttpResponse:
    """A piece with the first few that match, for typing at receipt; asked for as a page, it is the list."""
    if not wants_fragment(request):
        return part_list(request)
    text = request.GET.get("q", "")[:80]
    return render(request, "inventory/_parts_found.html", {"found": found_parts(text), "text": text})


def found_parts(text: str) -> list[Part]:
    return (
        list(parts_matching(text).with_stock().order_by("-in_use", "kind", "value_si", "pk")[:MOST_FOUND]) if text.strip() else []
    )


@role_required(*EVERYBODY)
def part(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(with_lots(Part.objects.with_stock()), pk=pk)
    prices = price_terms()
    lots = one.known_lots  # type: ignore[attr-defined]
    context = {
        "part": one,
        "rating": rating_of(one),
        "price": price_of(one, lots, prices),
        "lots": lot_lines(one, prices, today()),
        "coming": coming_of(one),
        "holds": [(hold, job_link(hold.reference)) for hold in open_holds(one)],
        "offered": offer_lines(one, terms(request).currency),
        "moves": page_of(request, ledger().filter(lot__part=one)),
        "is_low": one.in_use and one.free < one.minimum,  # type: ignore[attr-defined]
        "standing": standing_of(one),
    }
    return render(request, "inventory/part.html", context)


@role_required(Role.BENCH)
def part_new(request: HttpRequest) -> HttpResponse:
    form = PartForm(request.POST or None)

    def work() -> str:
        return reverse("inventory:part", args=[services.add_part(form.part_facts()).pk])

    if form.is_bound and (done := carry_out(form, "add part", work)):
        return answer_once(request, *done, said="The part's card is written. Receive parts to put some in a drawer.")
    return render(request, "inventory/part_new.html", {"form": form}, status=form.status)


@role_required(Role.BENCH)
def part_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Part, pk=pk)
    moved = one.lots.exists()  # type: ignore[attr-defined]
    form = PartChangeForm(request.POST or None, initial={**values_of(one), "seen": one.version}, part=one, moved=moved)
    context: dict[str, Any] = {"part": one, "form": form, "moved": moved}
    if form.is_valid():
        address = reverse("inventory:part", args=[pk])
        try:
            done = acts.once(form.cleaned_data["once"], "change part", lambda: _change(one, form, address, staff_of(request)))
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            context["now"] = standing_now(form, values_of(one))
            form.see(one.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The part's card is corrected.")
    return render(request, "inventory/part_change.html", context, status=form.status)


def _change(one: Part, form: PartChangeForm, address: str, person: Staff) -> str:
    facts = form.part_facts(form.cleaned_data["in_use"])
    services.change_part(one, facts, seen=form.cleaned_data["seen"], person=person, at=now())
    return address


@role_required(Role.BENCH)
@require_POST
def hold_let_go(request: HttpRequest, pk: int) -> HttpResponse:
    """The parts stay in their drawer and anybody may take them again."""
    held = get_object_or_404(Hold.objects.select_related("lot"), pk=pk)
    address = reverse("inventory:part", args=[held.lot.part_id])
    said = f"No longer kept for job {held.reference}; the parts are free again."
    return press(request, "let hold go", lambda: services.release_hold(held, at=now()), address, said)
