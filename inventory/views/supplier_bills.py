"""Suppliers' bills: the list, one bill held against its orders, writing, correcting, accepting; what came and was not billed."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.filters import ALL, SupplierBillFilter
from inventory.forms.supplier_bill import (
    AcceptForm,
    SupplierBillChangeForm,
    SupplierBillFields,
    SupplierBillForm,
    bill_values,
    new_values,
)
from inventory.models import Order, OrderLine, Supplier, SupplierBill
from inventory.queries.house import unbilled as house
from inventory.queries.supplier_bills import can_be_billed, listed_bills, standing_of_bill, unbilled
from inventory.services import supplier_bills as services
from inventory.tables import SupplierBillTable, UnbilledTable
from inventory.views.acting import Now, carry_out, edit, terms
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now, today
from shop.models import Role
from shop.web.leafing import leaf_through, show_leaf
from shop.web.lists import as_left
from shop.web.pages import answer_once, go, warn
from shop.web.press import press, seen_in
from shop.web.saving import file_of, table_sheet, wants_file
from shop.web.tallied import count_now, tallied


def _load(pk: int) -> SupplierBill:
    return get_object_or_404(SupplierBill.objects.select_related("supplier", "accepted_by", "person"), pk=pk)


def _page(pk: int) -> str:
    return reverse("inventory:supplier_bill", args=[pk])


@role_required(*EVERYBODY)
@as_left("inventory:supplier_bills", {"q": "", "supplier": "", "show": ALL}, SupplierBillFilter)
def supplier_bill_list(request: HttpRequest) -> HttpResponse:
    found = SupplierBillFilter(request.GET, queryset=listed_bills())
    table = SupplierBillTable(found.qs, locale=terms(request).locale, today=today())
    leaf_through(request, table, shown=listed_bills())
    if wants_file(request):
        return file_of(request, table_sheet("supplier-bills", table))
    any_bill = bool(table.page.object_list) or SupplierBill.objects.exists()
    return render(request, "inventory/supplier_bill_list.html", {"found": found, "table": table, "any_bill": any_bill})


@role_required(*EVERYBODY)
def unbilled_list(request: HttpRequest) -> HttpResponse:
    """A file is counted for itself, whatever the page shows."""
    locale = terms(request).locale
    if wants_file(request):
        return file_of(request, table_sheet("not-billed", UnbilledTable(unbilled(), locale=locale)))
    if request.method == "POST":
        return count_now(request, house.UNBILLED, {})
    counted = tallied(request, house.UNBILLED, {})
    lines = house.lines_shown(counted.leaf.object_list)
    table = UnbilledTable(lines, locale=locale)
    counted.leaf.object_list = lines
    show_leaf(table, counted.leaf)
    return render(request, "inventory/unbilled.html", {"table": table, "tallied": counted, "any_line": bool(lines)})


@role_required(Role.BENCH, Role.COUNTER)
def supplier_bill_new(request: HttpRequest) -> HttpResponse:
    """`?supplier=` says whose bill, `&currency=` in which money; without the page asks whose."""
    text = request.GET.get("supplier", "")
    if not text:
        return render(request, "inventory/supplier_bill_whose.html", {"suppliers": Supplier.objects.all()})
    supplier = get_object_or_404(Supplier, pk=text if text.isdecimal() and len(text) < 19 else 0)
    currencies = _currencies(request, supplier)
    currency = request.GET.get("currency", "")
    currency = currency if currency in currencies else currencies[0]
    lines = list(can_be_billed(supplier, currency))
    start = {"billed_on": today().isoformat(), **new_values(lines)}
    form = SupplierBillForm(request.POST or None, initial=start, lines=lines, currency=currency)

    def work() -> str:
        return _page(services.add_bill(supplier, form.facts(), form.bill_lines(), person=staff_of(request), at=now()).pk)

    if form.is_bound and (done := carry_out(form, "write supplier bill", work)):
        return answer_once(request, *done, said="The bill is written down. Look how it compares, then accept it.")
    others = [one for one in currencies if one != currency]
    return _form_page(request, supplier, form, {"others": others})


def _currencies(request: HttpRequest, supplier: Supplier) -> list[str]:
    """Today's currency of theirs first, then those of older orders."""
    first = supplier.currency or terms(request).currency
    older = Order.objects.filter(supplier=supplier).exclude(currency=first).order_by("currency")
    return [first, *older.values_list("currency", flat=True).distinct()]


def _form_page(request: HttpRequest, supplier: Supplier, form: SupplierBillFields, more: dict[str, Any]) -> HttpResponse:
    context = {"supplier": supplier, "form": form, "currency": form.bill_currency, **more}
    return render(request, "inventory/supplier_bill_form.html", context, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_bill_change(request: HttpRequest, pk: int) -> HttpResponse:
    bill = _load(pk)
    if bill.accepted_at:
        warn(request, "This bill was accepted and stands as it is.")
        return go(request, _page(pk))
    lines = list(can_be_billed(bill.supplier, bill.currency, bill))
    form = SupplierBillChangeForm(
        request.POST or None,
        initial={**bill_values(bill, lines), "seen": bill.version},
        lines=lines,
        currency=bill.currency,
        others=bill.lines.filter(order_line=None).count(),  # type: ignore[attr-defined]
    )

    def work() -> str:
        services.change_bill(bill, form.facts(), form.bill_lines(), seen=form.cleaned_data["seen"])
        return _page(pk)

    done, stands = edit(form, "change supplier bill", work, lambda: _reread(pk, lines))
    if done:
        return answer_once(request, *done, said="The bill is corrected.")
    return _form_page(request, bill.supplier, form, {"bill": bill, "now": stands})


def _reread(pk: int, lines: Sequence[OrderLine]) -> tuple[int, dict[str, Any]]:
    """What the bill says now; nothing where it was taken away meanwhile."""
    bill = SupplierBill.objects.filter(pk=pk).first()
    return (bill.version, bill_values(bill, lines)) if bill else (0, {})


@role_required(*EVERYBODY)
def supplier_bill(request: HttpRequest, pk: int) -> HttpResponse:
    bill = _load(pk)
    return _show(request, bill, AcceptForm(initial={"seen": bill.version}))


def _show(request: HttpRequest, bill: SupplierBill, form: AcceptForm, stands: Now = None) -> HttpResponse:
    context = {
        "bill": bill,
        "standing": standing_of_bill(bill),
        "form": form,
        "now": stands,
        "is_past_due": bill.due_on is not None and bill.due_on < today() and bill.accepted_at is None,
    }
    return render(request, "inventory/supplier_bill.html", context, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def supplier_bill_accept(request: HttpRequest, pk: int) -> HttpResponse:
    """A bill that agrees is accepted by a button; one that doesn't by the owner's form, with why."""
    bill, person = _load(pk), staff_of(request)
    if "why" not in request.POST:
        return press(
            request,
            "accept supplier bill",
            lambda: services.accept_bill(bill, person=person, at=now(), seen=seen_in(request)),
            _page(pk),
            "The bill agrees with what was ordered and came, and is accepted.",
        )
    form = AcceptForm(request.POST)

    def work() -> str:
        typed = form.cleaned_data
        services.accept_bill(bill, person=person, at=now(), why=typed["why"], seen=typed["seen"])
        return _page(pk)

    done, stands = edit(form, "accept supplier bill", work, lambda: (_load(pk).version, {}))
    if done:
        return answer_once(request, *done, said="The bill is accepted with its differences, and why is written on it.")
    return _show(request, _load(pk), form, stands)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def supplier_bill_remove(request: HttpRequest, pk: int) -> HttpResponse:
    bill = SupplierBill.objects.filter(pk=pk).first()
    if bill is None:
        warn(request, "That bill was taken away already.")
        return go(request, "inventory:supplier_bills")
    said = f"Bill {bill.number} is taken away. What it charged for counts as not billed."
    seen, address = seen_in(request), reverse("inventory:supplier_bills")
    return press(request, "remove supplier bill", lambda: services.remove_bill(bill, seen=seen), address, said)
