"""Every paper on both sizes of sheet, as usual, with the longest texts, and with 200 lines."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from billing.documents import credit_note, invoice, sale, statement, year_end
from inventory.documents import labels, lot_label, order, supplier_claim
from jobs.documents import (
    bad_lot_letter,
    claim_check,
    claim_verdict,
    collection,
    estimate,
    model_history,
    put_back,
    safety_sheet,
    summary,
    tag,
    warranty,
)
from tests.paper import bad_lot_samples, claim_samples, going_samples, samples
from tests.paper.papers import Draw, with_texts

SHEETS = ("A4", "Letter")
LABEL_SHEETS = {"A4": labels.SHEETS["a4-24"][1], "Letter": labels.SHEETS["letter-30"][1]}
MANY, MANY_LABELS = 200, 40
# 160 signs without a space: Polish, Greek, Cyrillic, Turkish, Vietnamese, an accent apart, and two signs that the fonts lack.
ENDLESS_NAME = ("ŻółćΑθανάσιοςЖаннаĞşİıNguyễnẢnhe\u0301漢字" * 5)[:160]


@dataclass(frozen=True)
class Paper:
    """One kind of paper: `many(n)` has about n lines more than its sample, told apart by `line(i)`; `heads` stand on each
    page of lines, and `closing` with the last of them."""

    name: str
    draw: Draw
    sample: Callable[[], Any]
    many: Callable[[int], Any] | None = None
    line: Callable[[int], str] = lambda i: ""
    heads: tuple[str, ...] = ()
    closing: str = ""


@dataclass(frozen=True)
class Case:
    paper: Paper
    sheet: str
    kind: str
    data: Any

    @property
    def name(self) -> str:
        return f"{self.paper.name}-{self.sheet}-{self.kind}".replace(" ", "-").lower()


def _designator(first: int) -> Callable[[int], str]:
    return lambda i: f"C{i + first}"


PAPERS = (
    Paper(
        "claim check", claim_check.draw, samples.claim_check, samples.claim_check, lambda i: f"thing {i + 1}", ("count", "what")
    ),
    Paper(
        "estimate",
        estimate.draw,
        samples.estimate,
        samples.estimate,
        _designator(1),
        ("position", "part", "count", "sum"),
        "Total",
    ),
    Paper("estimate with a choice", estimate.draw, samples.estimate_with_a_choice),
    Paper(
        "summary",
        summary.draw,
        samples.summary,
        samples.summary,
        _designator(1),
        ("position", "called for", "verdict", "price"),
        "Parts total",
    ),
    Paper("warranty", warranty.draw, samples.warranty, samples.warranty, _designator(1), ("position", "covered to the end of")),
    Paper(
        "decision on a claim",
        claim_verdict.draw,
        claim_samples.claim_verdict,
        claim_samples.claim_verdict,
        lambda i: f"measures nothing ({i + 1})",
        ("position", "what was found, and what it means for the warranty"),
    ),
    Paper("safety sheet", safety_sheet.draw, samples.safety_sheet, samples.safety_sheet, _designator(100), ("position", "needs")),
    Paper("blank safety sheet", safety_sheet.draw, samples.blank_safety_sheet),
    Paper("unsafe safety sheet", safety_sheet.draw, samples.unsafe_safety_sheet),
    Paper(
        "model history",
        model_history.draw,
        samples.model_history,
        samples.model_history,
        _designator(1),
        ("position", "called for", "went in"),
    ),
    Paper("model history of an unknown model", model_history.draw, samples.unknown_model),
    Paper("collection letter", collection.draw, samples.collection_letter),
    Paper("bad lot letter", bad_lot_letter.draw, bad_lot_samples.bad_lot_letter),
    Paper("claim on a supplier", supplier_claim.draw, bad_lot_samples.supplier_claim),
    Paper(
        "put-back list",
        put_back.draw_list,
        going_samples.put_back_list,
        going_samples.put_back_list,
        _designator(1),
        ("position", "what to do", "goes to"),
    ),
    Paper(
        "closing paper",
        put_back.draw_closing,
        going_samples.closing_paper,
        going_samples.closing_paper,
        _designator(1),
        ("position", "what it does", "verdict"),
    ),
    Paper("account of a sale", sale.draw, going_samples.sale_account),
    Paper("buyer's paper", sale.draw_buyers, going_samples.buyers_paper),
    Paper("buyer's paper of a proven set", sale.draw_buyers, lambda: going_samples.buyers_paper("")),
    Paper(
        "invoice",
        invoice.draw,
        samples.invoice,
        samples.invoice,
        lambda i: f"film ({i + 1})",
        ("position", "part", "each", "net"),
        "Still due",
    ),
    Paper(
        "credit note",
        credit_note.draw,
        samples.credit_note,
        samples.credit_note_of,
        lambda i: f"film ({i + 1})",
        ("each", "net"),
        "Credited in all",
    ),
    Paper(
        "statement",
        statement.draw,
        samples.statement,
        samples.statement,
        lambda i: f"R-2031-00{i:02}",
        ("day", "charged", "open after it"),
        "Open in all",
    ),
    Paper(
        "year's end",
        year_end.draw,
        samples.year_end,
        samples.year_end,
        lambda i: f"J-2031-00{i:02}, Merrowby Kestrel 5",
        ("what", "how it comes about", "sum"),
    ),
    Paper(
        "order",
        order.draw,
        samples.order,
        samples.order,
        lambda i: f"TM-{4700 + i}",
        ("your code", "packs", "each", "sum"),
        "Total without tax",
    ),
)
LABELS = (
    Paper(
        "drawer labels",
        labels.draw,
        lambda: samples.drawer_labels(7),
        samples.drawer_labels,
        lambda i: f"A / {i // 6 + 1} / {i % 6 + 1}",
    ),
    Paper("tag", tag.draw, samples.tag),
    Paper("lot label", lot_label.draw, samples.lot_label),
)


def on_sheet(data: Any, sheet: str) -> Any:
    if hasattr(data, "letterhead"):
        return replace(data, letterhead=replace(data.letterhead, paper=sheet))
    return replace(data, sheet=LABEL_SHEETS[sheet]) if hasattr(data, "sheet") else data


def cases() -> Iterator[Case]:
    for paper in (*PAPERS, *LABELS):
        for sheet in SHEETS:
            data = on_sheet(paper.sample(), sheet)
            yield Case(paper, sheet, "plain", data)
            yield Case(paper, sheet, "long", on_sheet(with_texts(data, ENDLESS_NAME), sheet))
            if paper.many is not None:
                yield Case(paper, sheet, "many", on_sheet(paper.many(MANY if paper in PAPERS else MANY_LABELS), sheet))
