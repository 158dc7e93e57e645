"""What an issued paper comes to by its own rows and frozen terms alone, whatever the shop's terms are today."""

from collections import Counter
from collections.abc import Iterable, Sequence

from billing.models import Invoice, InvoiceLine
from billing.queries.bills import frozen_rows, own_totals
from billing.queries.on_top import total_on_top
from shop.models import TaxRounding
from shop.totals import Totals


def frozen_totals(paper: Invoice, lines: Iterable[InvoiceLine], before: Sequence[InvoiceLine] | None = None) -> Totals:
    """Totals of an invoice, or of a credit note on top of the notes before it.

    `before`: the lines of those earlier notes; read where they aren't given.
    """
    listed = list(lines)
    if not paper.is_credit:
        return own_totals(paper, listed)
    return note_totals(paper, listed, credited_before(paper) if before is None else before)


def note_totals(terms: Invoice, lines: Sequence[InvoiceLine], before: Sequence[InvoiceLine]) -> Totals:
    """What a credit note with these `lines` comes to under the `terms` of its invoice; each line names the line it credits."""
    mine = {line.credits_line_id for line in lines}
    taken = taken_by(before)
    return total_on_top(
        frozen_rows(lines),
        [taken[line.credits_line_id] for line in lines],
        frozen_rows([line for line in before if line.credits_line_id not in mine]),
        prices_include_tax=terms.prices_include_tax,
        round_per_line=terms.tax_rounding == TaxRounding.LINE,
    )


def credited_before(note: Invoice) -> list[InvoiceLine]:
    return list(InvoiceLine.objects.filter(invoice__credits=note.credits_id, invoice__lt=note.pk))


def credited_of(invoice: Invoice) -> list[InvoiceLine]:
    """The lines of all notes that credit an invoice."""
    return list(InvoiceLine.objects.filter(invoice__credits=invoice))


def taken_by(note_lines: Iterable[InvoiceLine]) -> "Counter[int | None]":
    """What notes took of each line of the invoice, in minor units as priced, by the line's key."""
    taken: Counter[int | None] = Counter()
    for line in note_lines:
        taken[line.credits_line_id] += line.amount_minor
    return taken
