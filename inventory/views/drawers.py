"""Drawers: the overview, what is in one, new ones, naming one anew."""

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory import services
from inventory.exports import drawers_sheet
from inventory.forms.drawer import DrawerChangeForm, DrawerForm, FaceForm
from inventory.models import Drawer, DrawerCount, Part
from inventory.queries.drawers import (
    MOST_DRAWERS,
    cabinet_names,
    cabinets_of,
    codes_like,
    contents,
    drawers_in,
    has_few_drawers,
    holding,
    pictured,
)
from inventory.queries.lots import ledger
from inventory.queries.parts import parts_matching
from inventory.views.acting import carry_out
from shop import acts
from shop.access import EVERYBODY, role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.pages import answer_once, page_of
from shop.web.saving import file_of, wants_file

# Of what is looked for so many places are marked, and so many named where they stand in other cabinets.
MOST_MARKED = 500
MOST_FOUND = 30


@role_required(*EVERYBODY)
def drawer_list(request: HttpRequest) -> HttpResponse:
    """The cabinets as they stand; `?q=` marks the drawers that hold what it says, `?part=` and `?mark=` those named."""
    return file_of(request, drawers_sheet()) if wants_file(request) else _cabinets(request)


def _cabinets(request: HttpRequest, face: FaceForm | None = None) -> HttpResponse:
    """All of them in a shop of few drawers, else one cabinet: the one asked for, or the first in which something is marked."""
    text = request.GET.get("q", "")[:80].strip()
    is_whole, names, marked = has_few_drawers(), cabinet_names(), _marked(request, text)
    found = [] if is_whole else list(Drawer.objects.filter(pk__in=list(marked)[:MOST_FOUND]).order_by("cabinet", "pk"))
    shown = names if is_whole else _one_of(request.GET.get("cabinet") or (found[0].cabinet if found else ""), names)
    leaf = page_of(request, drawers_in(shown), MOST_DRAWERS)
    listed = cabinets_of(leaf.object_list)
    pictured((drawer for cabinet in listed for drawer in cabinet.drawers), marked)
    context = {
        "cabinets": listed,
        "names": [] if is_whole else names,
        "shown": shown,
        "leaf": leaf,
        "found": found,
        "text": text,
        "marked": marked,
        "is_more": not is_whole and len(marked) >= MOST_MARKED,
        "asked": bool(text or marked or request.GET.keys() & {"part", "mark"}),
        "face": face,
    }
    return render(request, "inventory/drawer_list.html", context, status=face.status if face else 200)


def _one_of(name: str, names: list[str]) -> list[str]:
    return [name] if name in names else names[:1]


def _marked(request: HttpRequest, text: str) -> dict[int, str]:
    part, named = request.GET.get("part", ""), request.GET.get("mark", "")
    if text:
        return holding(parts_matching(text), MOST_MARKED)
    if part.isdecimal() and len(part) < 19:
        return holding(Part.objects.filter(pk=int(part)))
    return {int(pk): "here" for pk in named[:2000].split(",") if pk.isdecimal() and len(pk) < 19}


@role_required(Role.BENCH)
@require_POST
def cabinet_face(request: HttpRequest) -> HttpResponse:
    form = FaceForm(request.POST)

    def work() -> str:
        services.set_face(form.cleaned_data["cabinet"], form.cleaned_data["across"])
        return reverse("inventory:drawers")

    if done := carry_out(form, "set cabinet front", work):
        return answer_once(request, *done, said=f"Cabinet {form.cleaned_data['cabinet']} is drawn as it stands.")
    return _cabinets(request, form)


@role_required(*EVERYBODY)
def drawer_codes(request: HttpRequest) -> JsonResponse:
    """Codes that begin with `q`, for a field that suggests them while one types; without it every code is typed in whole."""
    return JsonResponse({"codes": codes_like(request.GET.get("q", "")[:70])})


@role_required(*EVERYBODY)
def drawer(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Drawer, pk=pk)
    context = {
        "drawer": one,
        "contents": contents(one),
        "moves": page_of(request, ledger().filter(drawer=one)),
        "open_count": DrawerCount.objects.filter(drawer=one, booked_at__isnull=True, dropped_at__isnull=True).first(),
    }
    return render(request, "inventory/drawer.html", context)


@role_required(Role.BENCH)
def drawer_new(request: HttpRequest) -> HttpResponse:
    form = DrawerForm(request.POST or None, initial={"cabinet": request.GET.get("cabinet", "")[:20]})

    def work() -> str:
        made = [services.add_drawer(place) for place in form.places()]
        return reverse("inventory:drawer", args=[made[0].pk]) if len(made) == 1 else reverse("inventory:drawers")

    if form.is_bound and (done := carry_out(form, "add drawer", work)):
        many = form.cleaned_data["how_many"]
        return answer_once(request, *done, said=f"{many} drawers are made." if many > 1 else "The drawer is made.")
    return render(request, "inventory/drawer_new.html", {"form": form}, status=form.status)


@role_required(Role.BENCH)
def drawer_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Drawer, pk=pk)
    form = DrawerChangeForm(request.POST or None, initial={**_values(one), "seen": services.drawer_seen(one)})
    context: dict[str, Any] = {"drawer": one, "form": form}
    if form.is_valid():
        address = reverse("inventory:drawer", args=[pk])
        try:
            done = acts.once(form.cleaned_data["once"], "change drawer", lambda: _change(one, form, address))
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            context["now"] = standing_now(form, _values(one))
            form.see(services.drawer_seen(one))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The drawer has its new name. Print a label for it.")
    return render(request, "inventory/drawer_change.html", context, status=form.status)


def _values(one: Drawer) -> dict[str, str]:
    return {"cabinet": one.cabinet, "tray": one.tray, "compartment": one.compartment}


def _change(one: Drawer, form: DrawerChangeForm, address: str) -> str:
    services.change_drawer(one, form.place(), seen=form.cleaned_data["seen"])
    return address
