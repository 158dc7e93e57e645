"""Labels for drawers and for the bag of a lot. Drawing them changes nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.forms.drawer import LabelsForm
from inventory.queries import drawn
from inventory.queries.drawers import cabinets
from inventory.views.acting import terms
from shop.access import EVERYBODY, role_required
from shop.web.pages import go
from shop.web.pdf import answer_with, root_of


@role_required(*EVERYBODY)
def labels(request: HttpRequest) -> HttpResponse:
    """`?drawer=` ticks drawers beforehand; whoever comes back from a look finds sheet and place as they were."""
    chosen = {int(pk) for pk in request.GET.getlist("drawer") if pk.isdecimal() and len(pk) < 19}
    usual = "letter-30" if terms(request).paper == "Letter" else "a4-24"
    start = {"sheet": request.GET.get("sheet", usual), "used_up": request.GET.get("used_up", "")[:3]}
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
    drawers, sheet = list(form.cleaned_data["drawer"]), form.label_sheet()
    back = f"{reverse('inventory:labels')}?{request.GET.urlencode()}"
    return answer_with(lambda: drawn.drawer_labels(drawers, sheet, terms(request), root_of(request)), back=back)


@role_required(*EVERYBODY)
def lot_label(request: HttpRequest, pk: int) -> HttpResponse:
    back = reverse("inventory:lot", args=[pk])
    return answer_with(lambda: drawn.lot_label(pk, terms(request), root_of(request)), back=back)
