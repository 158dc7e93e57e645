"""A line that proves itself; and where the parts of a lot were billed."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from billing.exports import lot_lines_sheet
from billing.queries.proof import lines_of_lot, lines_with_heads, proof_of_line
from inventory.models import Lot
from shop.access import EVERYBODY, role_required
from shop.web.pages import go, page_of
from shop.web.saving import file_of, wants_file


@role_required(*EVERYBODY)
def line_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """What an invoice line was drawn from; its parts' cost is for the owner. A credit note's line leads to what it credits."""
    line = get_object_or_404(lines_with_heads(), pk=pk)
    if line.credits_line_id:
        return go(request, "billing:line_proof", line.credits_line_id)
    return render(request, "billing/line_proof.html", {"proof": proof_of_line(line), "job": line.invoice.job})


@role_required(*EVERYBODY)
def lot_lines(request: HttpRequest, pk: int) -> HttpResponse:
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), pk=pk)
    lines = lines_of_lot(lot)
    if wants_file(request):
        return file_of(request, lot_lines_sheet(lot, lines))
    return render(request, "billing/lot_lines.html", {"lot": lot, "page": page_of(request, lines)})
