"""Blocks that invoice and credit note share."""

from collections.abc import Sequence

from moneyed import Money
from reportlab.platypus import Flowable, Table

from billing.documents.lines import BillLine, TaxLine
from shop.paper.blocks import Sections
from shop.paper.tables import Column, table
from shop.paper.wording import show_lasting, show_percent, show_sum

KINDS = (("part", "Parts"), ("labour", "Labour"), ("flat", "Tasks at a fixed price"))
MONEY_MM = 25


def _money_columns(include_tax: bool) -> tuple[Column, ...]:
    """Prices that hold tax show what they come to with it and without; others need one column only."""
    rate, net = Column("tax", 13, "right"), Column("net", MONEY_MM, "right", bold=True)
    return (Column("with tax", MONEY_MM, "right"), rate, net) if include_tax else (rate, net)


def _money_cells(line: BillLine, include_tax: bool, locale: str) -> tuple[str, ...]:
    cells = (show_percent(line.tax_percent), show_sum(line.net, locale))
    return (show_sum(line.amount, locale), *cells) if include_tax else cells


def _part_table(lines: Sequence[BillLine], include_tax: bool, room: float, locale: str) -> Table:
    columns = (
        Column("position", 18, bold=True),
        Column("part"),
        Column("class", 15),
        Column("count", 12, "right"),
        Column("each", MONEY_MM, "right"),
        *_money_columns(include_tax),
    )
    rows = [
        (
            line.position,
            line.text,
            line.part_class,
            str(line.count),
            show_sum(line.unit, locale),
            *_money_cells(line, include_tax, locale),
        )
        for line in lines
    ]
    return table(columns, rows, room)


def _work_table(lines: Sequence[BillLine], rated: bool, include_tax: bool, room: float, locale: str) -> Table:
    """Labour shows its time and rate; a task at a fixed price has neither."""
    extra = (Column("time", 20, "right"), Column("an hour", MONEY_MM, "right")) if rated else (Column("count", 12, "right"),)
    rows = [
        (
            line.text,
            *((show_lasting(line.minutes), show_sum(line.unit, locale)) if rated else (str(line.count),)),
            *_money_cells(line, include_tax, locale),
        )
        for line in lines
    ]
    return table((Column("work"), *extra, *_money_columns(include_tax)), rows, room)


def line_sections(lines: Sequence[BillLine], include_tax: bool, section: Sections, room: float, locale: str) -> list[Flowable]:
    """A section for each kind of line that is there, in the order parts, labour, fixed tasks."""
    blocks: list[Flowable] = []
    for kind, words in KINDS:
        of_kind = [line for line in lines if line.kind == kind]
        if of_kind and kind == "part":
            blocks += section(words, [_part_table(of_kind, include_tax, room, locale)])
        elif of_kind:
            blocks += section(words, [_work_table(of_kind, kind == "labour", include_tax, room, locale)])
    return blocks


def tax_rows(net: Money, taxes: Sequence[TaxLine], tax_total: Money, locale: str) -> list[tuple[str, str]]:
    """Net, tax by rate with what it is on, and the tax in all where there is more than one rate."""
    rows = [("Net", show_sum(net, locale))]
    rows += [(f"{tax.label} on {show_sum(tax.taxable, locale)}", show_sum(tax.tax, locale)) for tax in taxes]
    if len(taxes) != 1:
        rows.append(("Tax in all", show_sum(tax_total, locale)))
    return rows
