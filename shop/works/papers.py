"""The till's papers by the dozen: all invoices and credit notes of a period; a statement for everybody who owes."""

from dataclasses import replace
from datetime import date

from billing import drawn
from billing.models import Invoice
from billing.queries.ageing import AgeRow, ageing
from shop.acts import Refused
from shop.long_work import Made, Progress
from shop.models import LongWork
from shop.paper.drawn import Drawn
from shop.works.zipped import zip_of

NONE_ISSUED = "No paper was issued in this period, so there is nothing to draw. Choose another period."
NOBODY_OWES = "Nobody owed anything on that day, so there is no statement to draw."


def draw_papers(work: LongWork, progress: Progress) -> Made:
    """`first` and `last` are days (ISO 8601); `name` is what the file is called by."""
    first, last = date.fromisoformat(work.asked["first"]), date.fromisoformat(work.asked["last"])
    issued = Invoice.objects.filter(issued_on__gte=first, issued_on__lte=last).order_by("issued_on", "pk")
    keys = list(issued.values_list("pk", flat=True))
    if not keys:
        raise Refused(NONE_ISSUED)
    said = f"{_counted(len(keys), 'paper')} from {first:%d %B %Y} to {last:%d %B %Y}, each as it was issued."
    return zip_of(progress, keys, drawn.invoice, said, f"papers-{work.asked['name']}.zip")


def draw_statements(work: LongWork, progress: Progress) -> Made:
    """Of everybody who owes on `day` (ISO 8601), in the money they owe it in."""
    day = date.fromisoformat(work.asked["day"])
    owing = [row for row in ageing(day).rows if row.total_minor > 0]
    if not owing:
        raise Refused(NOBODY_OWES)

    def statement(row: AgeRow) -> Drawn:
        made = drawn.statement(row.customer_pk, as_of_on=day, currency=row.currency)
        return replace(made, name=made.name.replace(".pdf", f"-{row.currency}.pdf"))

    said = f"{_counted(len(owing), 'statement')} as of {day:%d %B %Y}."
    return zip_of(progress, owing, statement, said, f"statements-{day.isoformat()}.zip")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
