"""A supplier's price lists: those taken in, and what each one did."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.exports import price_lists_sheet
from inventory.models import PriceList, Supplier
from inventory.queries.offer_list import offer_counts
from inventory.queries.price_lists import lists_of
from inventory.services import waiting_lists
from inventory.services.waiting_lists import Waiting
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.tabular import CSV_TYPE, csv_bytes
from shop.web.pages import page_of
from shop.web.saving import file_of, wants_file

SESSION = "waiting_lists"


def supplier_of(pk: int) -> Supplier:
    return get_object_or_404(Supplier, pk=pk)


def waiting_of(request: HttpRequest, supplier: Supplier) -> Waiting | None:
    """The file that this person sent for this supplier in this session and did not take in yet."""
    key = request.session.get(SESSION, {}).get(str(supplier.pk), "")
    return waiting_lists.find(key, supplier, person=staff_of(request), at=now()) if key else None


@role_required(*EVERYBODY)
def price_lists(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = supplier_of(pk)
    if wants_file(request):
        return file_of(request, price_lists_sheet(supplier, lists_of(supplier)))
    context = {
        "supplier": supplier,
        "lists": page_of(request, lists_of(supplier)),
        "counts": offer_counts(supplier),
        "waiting": waiting_of(request, supplier),
    }
    return render(request, "inventory/price_list_list.html", context)


@role_required(*EVERYBODY)
def price_list(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(PriceList.objects.select_related("supplier", "person"), pk=pk)
    return render(request, "inventory/price_list.html", {"list": one, "supplier": one.supplier, "shown": one.rejects[:50]})


@role_required(*EVERYBODY)
def price_list_rejects(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(PriceList, pk=pk)
    return csv_file(csv_bytes(("Line", "Reason", "Order code"), one.rejects), f"rejected-{pk}.csv")


def csv_file(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=CSV_TYPE, headers={"Content-Disposition": f'attachment; filename="{name}"'})
