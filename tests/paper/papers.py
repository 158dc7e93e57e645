"""All papers with their samples, and ways to look into a PDF."""

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from io import BytesIO
from typing import Any

from pypdf import PdfReader

from billing.documents import credit_note, invoice, statement
from inventory.documents import labels, lot_label, order
from jobs.documents import claim_check, estimate, safety_sheet, summary, tag, warranty
from tests.paper import samples

Draw = Callable[[Any], bytes]

FRAMED: dict[str, tuple[Draw, Callable[..., Any]]] = {
    "claim check": (claim_check.draw, samples.claim_check),
    "estimate": (estimate.draw, samples.estimate),
    "estimate with a choice": (estimate.draw, samples.estimate_with_a_choice),
    "summary": (summary.draw, samples.summary),
    "warranty": (warranty.draw, samples.warranty),
    "safety sheet": (safety_sheet.draw, samples.safety_sheet),
    "invoice": (invoice.draw, samples.invoice),
    "credit note": (credit_note.draw, samples.credit_note),
    "statement": (statement.draw, samples.statement),
    "order": (order.draw, samples.order),
}
LOOSE: dict[str, tuple[Draw, Callable[..., Any]]] = {
    "tag": (tag.draw, samples.tag),
    "drawer labels": (labels.draw, lambda: samples.drawer_labels(7)),
    "lot label": (lot_label.draw, samples.lot_label),
}
ALL = FRAMED | LOOSE
LONG: dict[str, tuple[Draw, Callable[..., Any]]] = {
    name: FRAMED[name] for name in ("estimate", "summary", "warranty", "invoice", "statement", "order")
}
NOT_TYPED = frozenset({"kind", "sign", "paper", "currency", "locale"})


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def page_texts(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in reader(pdf).pages]


def text_of(pdf: bytes) -> str:
    """All the text with its white space evened out, so that a line break doesn't hide a phrase."""
    return " ".join(" ".join(page_texts(pdf)).split())


def with_texts(data: Any, text: str) -> Any:
    """The same data with every text in it that a person could have typed replaced by `text`."""
    if isinstance(data, str):
        return text
    if isinstance(data, tuple):
        return tuple(with_texts(item, text) for item in data)
    if not is_dataclass(data) or isinstance(data, type):
        return data
    changed = {f.name: with_texts(getattr(data, f.name), text) for f in fields(data) if f.name not in NOT_TYPED}
    return replace(data, **changed)


def on_letterhead(data: Any, **changes: Any) -> Any:
    return replace(data, letterhead=replace(data.letterhead, **changes))
