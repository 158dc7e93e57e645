"""A paper's page says every word of its PDF, whatever is filled: what is added to one may not be forgotten on the other."""

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from html import unescape
from io import BytesIO
from itertools import count
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.utils.html import strip_tags
from pypdf import PdfReader

from billing.documents import credit_note, invoice, statement
from billing.views.keepsakes import cover_of
from billing.views.paper_pages import lines_of
from jobs.documents import estimate, safety_sheet, summary, warranty
from jobs.views.estimate_papers import page_parts
from jobs.views.safety_papers import page_words
from tests.paper import samples

# On every sheet of a PDF, and on no page of the web; the letters are tabs of the sections.
OF_THE_SHEET = re.compile(r"page \d+ of \d+")
TABS = set("abcdefghijklmnop")
WORD = re.compile(r"[\w.,£€:/-]*\w")
CODES = frozenset({"kind", "paper", "currency", "locale", "part_class", "mark", "verdict", "job_url", "email"})

Context = Callable[[Any], dict[str, Any]]


def of_bill(rows: Callable[[Any], Any]) -> Context:
    return lambda paper: {**lines_of(paper.lines), "sums": rows(paper)}


PAGES: list[tuple[str, Callable[[], Any], Callable[[Any], bytes], Context]] = [
    ("billing/invoice_page.html", samples.invoice, invoice.draw, of_bill(invoice.sum_rows)),
    ("billing/credit_note_page.html", samples.credit_note, credit_note.draw, of_bill(credit_note.sum_rows)),
    ("billing/statement_page.html", samples.statement, statement.draw, lambda one: {"sums": statement.sum_rows(one)}),
    ("jobs/summary_page.html", samples.summary, summary.draw, lambda one: {}),
    ("jobs/warranty_page.html", samples.warranty, warranty.draw, cover_of),
    ("jobs/estimate_page.html", samples.estimate, estimate.draw, page_parts),
    ("jobs/estimate_page.html", samples.estimate_with_a_choice, estimate.draw, page_parts),
    ("jobs/safety_page.html", samples.safety_sheet, safety_sheet.draw, page_words),
    ("jobs/safety_page.html", samples.blank_safety_sheet, safety_sheet.draw, page_words),
    ("jobs/safety_page.html", samples.unsafe_safety_sheet, safety_sheet.draw, page_words),
]


def filled(data: Any, numbers: "count[int]") -> Any:
    """The paper with a word of its own in every text that was left empty, however deep."""
    if isinstance(data, tuple):
        return tuple(filled(one, numbers) for one in data)
    if not is_dataclass(data):
        return data
    changes = {}
    for one in fields(data):
        value = getattr(data, one.name)
        empty = value == "" and one.name not in CODES
        changes[one.name] = f"word{next(numbers)}" if empty else filled(value, numbers)
    return replace(data, **changes)  # type: ignore[type-var]


def words_of(text: str) -> set[str]:
    return {word.lower().strip(".,:") for word in WORD.findall(OF_THE_SHEET.sub("", text))}


@pytest.mark.parametrize("fill", [False, True], ids=["as it is", "every text filled"])
@pytest.mark.parametrize(("template", "sample", "draw", "context"), PAGES, ids=[f"{one[0]} {one[1].__name__}" for one in PAGES])
def test_every_word_of_the_paper_is_on_its_page(
    template: str, sample: Callable[[], Any], draw: Callable[[Any], bytes], context: Context, fill: bool
) -> None:
    paper = filled(sample(), count(1)) if fill else sample()
    html = render_to_string(template, {"paper": paper, "pdf": "/pdf/", "back": "/back/", **context(paper)})
    printed = "\n".join(page.extract_text() for page in PdfReader(BytesIO(draw(paper))).pages)
    assert words_of(printed) - words_of(unescape(strip_tags(html.replace("<", " <")))) - TABS == set()
