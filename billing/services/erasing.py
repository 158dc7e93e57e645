"""Erases names and words in the till's ledgers. That the time of keeping has ended, the caller has made sure: `shop.personal`."""

from collections.abc import Iterable

from django.db import transaction

from billing.queries.personal import paper_rows
from shop.append_only import erase_words


@transaction.atomic
def erase_papers(jobs: Iterable[int]) -> int:
    """How many papers and payments had any. Sums, numbers and dates stay: the database lets nothing else through."""
    return sum(erase_words(rows) for rows in paper_rows(jobs))
