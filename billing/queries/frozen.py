"""What an issued paper comes to by its own rows and frozen terms alone, whatever the shop's terms are today."""

from collections.abc import Iterable, Mapping

from django.db.models import QuerySet, Sum

from billing.models import Invoice, InvoiceLine
from billing.queries.bills import frozen_rows, own_totals
from billing.queries.on_top import total_on_top
from shop.models import TaxRounding
from shop.totals import Line, Totals

Taken = Mapping[int, int]


def frozen_totals(paper: Invoice, lines: Iterable[InvoiceLine], before: Taken | None = None) -> Totals:
    """Totals of an invoice, or of a credit note on top of the notes before it.

    `before`: what earlier notes took of each line of the invoice, by the line's key; read where it isn't given.
    """
    listed = list(lines)
    if not paper.is_credit:
        return own_totals(paper, listed)
    return note_totals(paper, listed, credited_before(paper) if before is None else before)


def note_totals(terms: Invoice, lines: list[InvoiceLine], before: Taken) -> Totals:
    """What a credit note with these `lines` comes to under the `terms` of its invoice; each line names the line it credits."""
    mine = [line.credits_line_id or 0 for line in lines]
    return total_on_top(
        frozen_rows(lines),
        [before.get(key, 0) for key in mine],
        _others({key: taken for key, taken in before.items() if key not in mine and taken}),
        prices_include_tax=terms.prices_include_tax,
        round_per_line=terms.tax_rounding == TaxRounding.LINE,
    )


def _others(taken: Taken) -> list[Line]:
    lines = InvoiceLine.objects.filter(pk__in=taken) if taken else ()
    return frozen_rows([InvoiceLine(amount_minor=taken[one.pk], tax_bp=one.tax_bp, tax_category=one.tax_category) for one in lines])


def credited_before(note: Invoice) -> dict[int, int]:
    return taken_by(InvoiceLine.objects.filter(invoice__credits=note.credits_id, invoice__lt=note.pk))


def credited_of(invoice: Invoice) -> dict[int, int]:
    """What all notes of an invoice took of each of its lines, in minor units as priced, by the line's key."""
    return taken_by(InvoiceLine.objects.filter(invoice__credits=invoice))


def taken_by(note_lines: "QuerySet[InvoiceLine]") -> dict[int, int]:
    rows = note_lines.order_by().values_list("credits_line").annotate(sum=Sum("amount_minor"))
    return {key: taken for key, taken in rows if key is not None}
