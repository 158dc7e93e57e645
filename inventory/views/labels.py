"""Labels for drawers and for the bag of a lot. Drawing them changes nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.documents import labels as label_sheet
from inventory.documents import lot_label as bag_label
from inventory.documents.labels import DrawerContent, DrawerLabel, DrawerLabels
from inventory.documents.lot_label import LotLabel
from inventory.forms.drawer import LabelsForm
from inventory.models import Balance, Drawer, Lot
from inventory.queries.drawers import cabinets
from inventory.queries.lots import lying, received_count
from inventory.views.acting import terms
from shop.access import EVERYBODY, role_required
from shop.web.pages import go


@role_required(*EVERYBODY)
def labels(request: HttpRequest) -> HttpResponse:
    """`?drawer=` ticks drawers beforehand."""
    chosen = {int(pk) for pk in request.GET.getlist("drawer") if pk.isdecimal() and len(pk) < 19}
    start = {"sheet": "letter-30" if terms(request).paper == "Letter" else "a4-24"}
    return _choose(request, LabelsForm(initial=start), chosen)


def _choose(request: HttpRequest, form: LabelsForm, chosen: set[int]) -> HttpResponse:
    context = {"form": form, "cabinets": cabinets(), "chosen": chosen}
    return render(request, "inventory/labels.html", context, status=422 if form.errors else 200)


@role_required(*EVERYBODY)
def labels_pdf(request: HttpRequest) -> HttpResponse:
    if not request.GET:
        return go(request, "inventory:labels")
    form = LabelsForm(request.GET)
    if not form.is_valid():
        return _choose(request, form, {int(pk) for pk in request.GET.getlist("drawer") if pk.isdecimal() and len(pk) < 19})
    drawers: list[Drawer] = list(form.cleaned_data["drawer"])
    held = _contents(drawers)
    made = tuple(
        DrawerLabel(one.code, _address(request, "inventory:drawer", one.pk), tuple(held.get(one.pk, ()))) for one in drawers
    )
    return _pdf(label_sheet.draw(DrawerLabels(terms(request).name, made, form.label_sheet())), "drawer-labels")


def _contents(drawers: list[Drawer]) -> dict[int, list[DrawerContent]]:
    """What lies in each drawer, each part once."""
    there = Balance.objects.filter(drawer__in=drawers, on_hand__gt=0).select_related("lot__part")
    found: dict[int, dict[int, DrawerContent]] = {}
    for balance in there.order_by("lot__part__kind", "lot__part__value_si", "lot__part__marking"):
        part = balance.lot.part
        made = part.get_technology_display() if part.technology else part.get_kind_display()
        found.setdefault(balance.drawer_id, {})[part.pk] = DrawerContent(part.marking, made)
    return {drawer: list(parts.values()) for drawer, parts in found.items()}


def _address(request: HttpRequest, name: str, pk: int) -> str:
    return request.build_absolute_uri(reverse(name, args=[pk]))


def _pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}.pdf"'}
    )


@role_required(*EVERYBODY)
def lot_label(request: HttpRequest, pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), pk=pk)
    places = list(lying(lot))
    profile = terms(request)
    label = LotLabel(
        profile.name,
        lot.part.marking,
        lot.part.get_kind_display(),
        str(lot.pk),
        _address(request, "inventory:lot", lot.pk),
        lot.received_on,
        lot.condition,
        lot.supplier.name if lot.supplier else "",
        lot.date_code,
        places[0].drawer.code if places else "",
        sum(place.on_hand for place in places) or received_count(lot),
        lot.return_until_on,
        profile.locale,
    )
    return _pdf(bag_label.draw(label), f"lot-{lot.pk}")
