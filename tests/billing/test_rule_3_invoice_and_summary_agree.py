"""Rule 3: the parts total of an invoice and of its job summary are folds over the same log entries: they cannot differ."""

from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from billing.models import LineKind
from billing.papers import invoice_paper
from jobs.models import Job
from jobs.queries.papers_out import summary_paper
from jobs.queries.sheet import sheet_of
from jobs.services import log
from shop.letterhead_of import letterhead
from shop.money import as_money
from tests.builders import a_fit, a_job, a_lot, a_part, a_profile, an_invoice, author

pytestmark = pytest.mark.django_db
PLACES = {"C2": ("0.01 µF 630 V", "capacitance"), "R1": ("220K 1W", "resistance"), "V1": ("12SK7", "valve")}


def totals_of(job: Job) -> tuple[int, ...]:
    """The parts total as the log, the invoice's rows, the invoice's paper and the summary give it."""
    invoice = an_invoice(job)
    head = letterhead()
    rows = sum(line.amount_minor for line in invoice.lines.filter(kind=LineKind.PART))  # type: ignore[attr-defined]
    paper = invoice_paper(invoice, head).parts_total
    summary = summary_paper(job, head, written_on=date(2026, 3, 9)).parts_total
    log_total = sheet_of(job).parts_minor
    assert paper == summary == as_money(log_total, "GBP")
    return rows, log_total


@pytest.mark.parametrize("terms", [{}, {"parts_tax_bp": 2000}, {"parts_tax_bp": 2000, "prices_include_tax": True}])
def test_the_four_parts_totals_are_one(terms: dict[str, Any]) -> None:
    a_profile(**terms)
    job = a_job("repairing")
    a_fit(job, "C2")
    rows, log_total = totals_of(job)
    assert rows == log_total == 60


fits = st.lists(
    st.tuples(st.sampled_from(sorted(PLACES)), st.booleans(), st.booleans(), st.integers(1, 90_000)), min_size=1, max_size=6
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fits=fits, include=st.booleans(), tax_bp=st.sampled_from([0, 550, 1900, 2000]))
def test_whatever_is_fitted_taken_out_and_let_go(fits: list[tuple[str, bool, bool, int]], include: bool, tax_bp: int) -> None:
    """Parts go in, some come out again, some aren't charged, at any cost and tax: the totals never differ."""
    a_profile(parts_tax_bp=tax_bp, prices_include_tax=include, tolerance_percent=20)
    job = a_job("repairing", labour_minor=90_000_000)
    for place, charged, comes_out, cost in fits:
        marking, kind = PLACES[place]
        lot = a_lot(a_part(marking, kind=kind), unit_cost_milli=cost)
        entry = a_fit(job, place, lot=lot, not_charged="" if charged else "goodwill")
        if comes_out:
            log.take_out(entry, "tried another", author(), scrap=False)
    if sheet_of(job).fitted:
        rows, log_total = totals_of(job)
        assert rows == log_total
