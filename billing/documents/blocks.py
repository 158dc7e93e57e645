"""Blocks that invoice and credit note share."""

from collections.abc import Sequence

from moneyed import Money
from reportlab.platypus import Flowable

from billing.documents.lines import BillLine, TaxLine
from shop.paper.blocks import Sections
from shop.paper.ruled import Ruled
from shop.paper.tables import Column, table
from shop.paper.wording import show_lasting, show_percent, show_sum

MONEY_MM = 25


def _money_columns(include_tax: bool) -> tuple[Column, ...]:
    """Prices that hold tax show what they come to with it and without; others need one column only."""
    rate, net = Column("tax", 13, "right"), Column("net", MONEY_MM, "right", bold=True)
    return (Column("with tax", MONEY_MM, "right"), rate, net) if include_tax else (rate, net)


def _money_cells(line: BillLine, include_tax: bool, locale: str) -> tuple[str, ...]:
    cells = (show_percent(line.tax_percent), show_sum(line.net, locale))
    return (show_sum(line.amount, locale), *cells) if include_tax else cells


def _part_table(lines: Sequence[BillLine], include_tax: bool, room: float, locale: str) -> Ruled:
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


def _rate_cells(line: BillLine, locale: str) -> tuple[str, str]:
    if line.kind == "labour" and not line.minutes:
        return "in part", show_sum(line.unit, locale)
    if line.kind == "labour":
        return show_lasting(line.minutes), f"{show_sum(line.unit, locale)} an hour"
    return "fixed price", f"{line.count} × {show_sum(line.unit, locale)}" if line.count != 1 else show_sum(line.unit, locale)


def _work_table(lines: Sequence[BillLine], include_tax: bool, room: float, locale: str) -> Ruled:
    columns = (Column("work"), Column("time", 22, "right"), Column("rate", 32, "right"), *_money_columns(include_tax))
    rows = [(line.text, *_rate_cells(line, locale), *_money_cells(line, include_tax, locale)) for line in lines]
    return table(columns, rows, room)


def line_sections(lines: Sequence[BillLine], include_tax: bool, section: Sections, room: float, locale: str) -> list[Flowable]:
    """Parts, then labour with the tasks at a fixed price; a section only for what is there."""
    parts = [line for line in lines if line.kind == "part"]
    work = [line for line in lines if line.kind == "labour"] + [line for line in lines if line.kind == "flat"]
    return [
        *(section("Parts", [_part_table(parts, include_tax, room, locale)]) if parts else []),
        *(section("Labour", [_work_table(work, include_tax, room, locale)]) if work else []),
    ]


def tax_rows(net: Money, taxes: Sequence[TaxLine], tax_total: Money, locale: str) -> list[tuple[str, str]]:
    """Net, tax by rate with what it is on, and the tax in all where there is more than one rate."""
    rows = [("Net", show_sum(net, locale))]
    rows += [(f"{tax.label} on {show_sum(tax.taxable, locale)}", show_sum(tax.tax, locale)) for tax in taxes]
    if len(taxes) != 1:
        rows.append(("Tax in all", show_sum(tax_total, locale)))
    return rows
