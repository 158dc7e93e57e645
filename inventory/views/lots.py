"""Lots: the list; one with where it came from, lies and went; counting, moving, scrapping, sending back, blocking."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory import services
from inventory.filters import HERE, LotFilter
from inventory.forms.lot import BlockForm, CountForm, TakeOutForm, TransferForm
from inventory.models import Balance, Drawer, Lot
from inventory.pricing import price_terms, priced_lot
from inventory.queries.bad_lots import open_bad
from inventory.queries.drawers import codes
from inventory.queries.individuals import individual
from inventory.queries.lots import ledger, listed_lots, lying, received_count, went_into
from inventory.queries.supplier_claims import claims_on, cover_of
from inventory.tables import LotTable, job_link
from inventory.views.acting import carry_out, terms
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Role
from shop.web.forms import TradeForm
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import Undo, answer_once, page_of
from shop.web.press import press
from shop.web.saving import file_of, table_sheet, wants_file


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("part", "supplier", "owner", "order_line__order"), pk=pk)


@role_required(*EVERYBODY)
@as_left("inventory:lots", {"q": "", "date_code": "", "condition": "", "supplier": "", "show": HERE}, LotFilter)
def lot_list(request: HttpRequest) -> HttpResponse:
    found = LotFilter(request.GET, queryset=listed_lots())
    table = LotTable(found.qs, profile=terms(request))
    leaf_through(request, table, shown=listed_lots(), to_count=found.to_count())
    if wants_file(request):
        return file_of(request, table_sheet("lots", table))
    any_lot = bool(table.page.object_list) or Lot.objects.exists()
    return render(request, "inventory/lot_list.html", {"found": found, "table": table, "any_lot": any_lot})


@role_required(*EVERYBODY)
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, _lot(pk), BlockForm())


def _show(request: HttpRequest, one: Lot, block_form: BlockForm) -> HttpResponse:
    context = {
        "lot": one,
        "received": received_count(one),
        "price": priced_lot(one.part, one, price_terms()),
        "can_go_back": one.can_go_back(today()),
        "bad": open_bad(one),
        "cover": cover_of(one, today()),
        "claims": claims_on([one]),
        "lying": lying(one),
        "individual": individual(one) if one.is_individual else None,
        "tests": one.tests.select_related("person").order_by("-tested_on", "-pk") if one.is_individual else (),  # type: ignore[attr-defined]
        "apart": one.split_off.order_by("pk"),  # type: ignore[attr-defined]
        "went": [(went, job_link(went.reference)) for went in went_into(one)],
        "moves": page_of(request, ledger().filter(lot=one)),
        "form": block_form,
    }
    return render(request, "inventory/lot.html", context, status=block_form.status)


@dataclass(frozen=True)
class Place:
    """A lot in a drawer, as an act's page names it. Nothing lies there where the last one was taken meanwhile."""

    lot: Lot
    drawer: Drawer
    balance: Balance

    @property
    def address(self) -> str:
        return reverse("inventory:lot", args=[self.lot.pk])


def _place(lot_pk: int, drawer_pk: int) -> Place:
    one, drawer = _lot(lot_pk), get_object_or_404(Drawer, pk=drawer_pk)
    return Place(one, drawer, Balance.objects.filter(lot=one, drawer=drawer).first() or Balance(lot=one, drawer=drawer))


def _page(
    request: HttpRequest, place: Place, form: TradeForm, title: str, act: str, note: str = "", *, blind: bool = False
) -> HttpResponse:
    """`blind` leaves the ledger's figure out: who knows it finds it again."""
    context = {"place": place, "form": form, "title": title, "act": act, "note": note, "codes": codes(), "blind": blind}
    context["back"] = place.address
    return render(request, "inventory/lot_act.html", context, status=form.status)


@role_required(Role.BENCH)
def count(request: HttpRequest, lot_pk: int, drawer_pk: int) -> HttpResponse:
    place = _place(lot_pk, drawer_pk)
    form = CountForm(request.POST or None, initial={"shown": place.balance.on_hand})

    def work() -> str:
        typed = form.cleaned_data
        services.count_drawer(
            place.lot,
            place.drawer,
            typed["counted"],
            reason=typed["reason"],
            person=staff_of(request),
            at=now(),
            seen=typed["shown"],
        )
        return place.address

    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "count drawer", work)
        except Stale as stale:
            form.take_refusal(stale)
            place = _place(lot_pk, drawer_pk)
            form.see(place.balance.on_hand)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=f"Drawer {place.drawer} is counted: {form.cleaned_data['counted']}.")
    return _page(request, place, form, "Count what is in the drawer", "Book this count", blind=True)


@role_required(Role.BENCH)
def transfer(request: HttpRequest, lot_pk: int, drawer_pk: int) -> HttpResponse:
    place = _place(lot_pk, drawer_pk)
    form = TransferForm(request.POST or None, initial={"count": place.balance.free or None})

    def work() -> str:
        typed = form.cleaned_data
        services.transfer(
            place.lot, place.drawer, typed["target"], typed["count"], reason=typed["reason"], person=staff_of(request), at=now()
        )
        return place.address

    if form.is_bound and (done := carry_out(form, "move parts", work)):
        count, target = form.cleaned_data["count"], form.cleaned_data["target"]
        back = {"count": count, "target": place.drawer.code, "reason": "moved back"}
        undo = Undo(reverse("inventory:transfer", args=[lot_pk, target.pk]), "Move them back", back)
        return answer_once(request, *done, said=f"{count} moved to drawer {target}.", undo=undo)
    return _page(request, place, form, "Move to another drawer", "Move them")


TakeOut = Callable[..., object]


def _take_out(request: HttpRequest, place: Place, act: TakeOut, title: str, button: str, said: str, note: str) -> HttpResponse:
    form = TakeOutForm(request.POST or None)

    def work() -> str:
        typed = form.cleaned_data
        act(place.lot, place.drawer, typed["count"], reason=typed["reason"], person=staff_of(request), at=now())
        return place.address

    if form.is_bound and (done := carry_out(form, title.lower(), work)):
        return answer_once(request, *done, said=f"{form.cleaned_data['count']} {said}.")
    return _page(request, place, form, title, button, note)


@role_required(Role.BENCH)
def scrap(request: HttpRequest, lot_pk: int, drawer_pk: int) -> HttpResponse:
    place = _place(lot_pk, drawer_pk)
    return _take_out(request, place, services.scrap, "Scrap parts", "Scrap them", "scrapped", "")


@role_required(Role.BENCH)
def send_back(request: HttpRequest, lot_pk: int, drawer_pk: int) -> HttpResponse:
    place = _place(lot_pk, drawer_pk)
    over = not place.lot.can_go_back(today())
    note = "The supplier's window for this lot is not open. Ask the supplier before you send anything." if over else ""
    return _take_out(request, place, services.send_back, "Send back to the supplier", "Send them back", "sent back", note)


@role_required(Role.OWNER)
@require_POST
def block(request: HttpRequest, pk: int) -> HttpResponse:
    one = _lot(pk)
    form = BlockForm(request.POST)

    def work() -> str:
        services.block_lot(one, form.cleaned_data["reason"])
        return reverse("inventory:lot", args=[pk])

    done = carry_out(form, "block lot", work)
    if done is None:
        return _show(request, one, form)
    undo = Undo(reverse("inventory:unblock", args=[pk]))
    return answer_once(request, *done, said="The lot is blocked: nothing of it is offered at the bench or fitted.", undo=undo)


@role_required(Role.OWNER)
@require_POST
def unblock(request: HttpRequest, pk: int) -> HttpResponse:
    one = _lot(pk)
    said = "The lot may be fitted again."
    return press(request, "unblock lot", lambda: services.block_lot(one, ""), reverse("inventory:lot", args=[pk]), said)
