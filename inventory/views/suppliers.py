"""Suppliers: the list and their cards."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory import services
from inventory.forms.supplier import SupplierChangeForm, SupplierForm, supplier_values
from inventory.models import Supplier
from inventory.queries.supplier_claims import listed_claims, sums_of
from inventory.queries.suppliers import counted_out, listed
from inventory.services import supplier_seen
from inventory.tables import SupplierTable
from inventory.views.acting import carry_out
from shop import acts
from shop.access import EVERYBODY, role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.models import Role
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import answer_once
from shop.web.saving import file_of, table_sheet, wants_file


@role_required(*EVERYBODY)
@as_left("inventory:suppliers", {})
def supplier_list(request: HttpRequest) -> HttpResponse:
    table = SupplierTable(counted_out() if wants_file(request) else listed())
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("suppliers", table))
    return render(request, "inventory/supplier_list.html", {"table": table, "any_supplier": bool(table.page.object_list)})


@role_required(Role.BENCH, Role.COUNTER)
def supplier_new(request: HttpRequest) -> HttpResponse:
    form = SupplierForm(request.POST or None)

    def work() -> str:
        services.add_supplier(form.supplier_facts())
        return reverse("inventory:suppliers")

    if form.is_bound and (done := carry_out(form, "add supplier", work)):
        return answer_once(request, *done, said="The supplier is written down.")
    return render(request, "inventory/supplier_new.html", {"form": form}, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Supplier, pk=pk)
    start = {**supplier_values(one), "seen": supplier_seen(one)}
    form = SupplierChangeForm(request.POST or None, initial=start)
    claimed = sums_of(listed_claims().filter(supplier=one))
    context: dict[str, Any] = {"supplier": one, "form": form, "claimed": claimed}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change supplier", lambda: _change(one, form))
        except Stale as stale:
            form.take_refusal(stale)
            one.refresh_from_db()
            context["now"] = standing_now(form, supplier_values(one))
            form.see(supplier_seen(one))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The supplier's card is corrected.")
    return render(request, "inventory/supplier_change.html", context, status=form.status)


def _change(one: Supplier, form: SupplierChangeForm) -> str:
    services.change_supplier(one, form.supplier_facts(), seen=form.cleaned_data["seen"])
    return reverse("inventory:suppliers")
