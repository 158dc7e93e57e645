"""Labels for drawers and for the bag of a lot. Drawing them changes nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.forms.drawer import BagsForm, LabelsForm
from inventory.models import Drawer
from inventory.queries import drawn
from inventory.queries.drawers import cabinet_names, cabinets_of, drawers_in, has_few_drawers
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


def _choose(request: HttpRequest, form: LabelsForm, chosen: set[int], bags: BagsForm | None = None) -> HttpResponse:
    day = {"day": request.GET.get("day", ""), "sheet": "letter-10" if terms(request).paper == "Letter" else "a4-21"}
    bags = bags or BagsForm(initial=day, auto_id="bags_%s")
    names, is_whole = cabinet_names(), has_few_drawers()
    shown = names if is_whole else _shown(request, names, chosen)
    context = {
        "form": form,
        "cabinets": cabinets_of(drawers_in(shown)),
        "names": names,
        "shown": shown,
        "is_whole": is_whole,
        "chosen": chosen,
        "bags": bags,
    }
    return render(request, "inventory/labels.html", context, status=422 if form.errors or bags.errors else 200)


def _shown(request: HttpRequest, names: list[str], chosen: set[int]) -> list[str]:
    """The cabinet asked for, else those of the drawers that are ticked, else the first."""
    if (asked := request.GET.get("cabinet")) in names:
        return [str(asked)]
    ticked = Drawer.objects.filter(pk__in=chosen).order_by().values_list("cabinet", flat=True).distinct()
    return [name for name in names if name in set(ticked)] or names[:1]


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


@role_required(*EVERYBODY)
def bag_labels_pdf(request: HttpRequest) -> HttpResponse:
    """Labels for the bags of a day's delivery."""
    if not request.GET:
        return go(request, "inventory:labels")
    form = BagsForm(request.GET, auto_id="bags_%s")
    if not form.is_valid():
        return _choose(request, LabelsForm(), set(), form)
    day, sheet = form.cleaned_data["day"], form.label_sheet()
    back = f"{reverse('inventory:labels')}?day={day.isoformat()}#bags"
    return answer_with(lambda: drawn.bag_labels(day, sheet, terms(request), root_of(request)), back=back)
