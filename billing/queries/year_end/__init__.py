"""A year's end, as it stood then: what was there, what was owed, and what the books can't say of a past day."""

from billing.queries.year_end.checklist import Item, checklist
from billing.queries.year_end.closing import YearEnd, year_end, year_until
from billing.queries.year_end.sections import OWED, THERE, TOLD, Row, Section, sections_of, side_total

__all__ = [
    "OWED",
    "THERE",
    "TOLD",
    "Item",
    "Row",
    "Section",
    "YearEnd",
    "checklist",
    "sections_of",
    "side_total",
    "year_end",
    "year_until",
]
