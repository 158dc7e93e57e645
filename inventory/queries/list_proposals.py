"""How a waiting file is probably to be read: as the supplier's last one was, where that fits, else by its looks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from inventory.models import ListLayout, Supplier
from inventory.price_lists.guessing import (
    Sample,
    columns_again,
    columns_of,
    decimal_sign_of,
    delimiter_of,
    first_row_of,
    headings_of,
    sample_of,
)
from inventory.price_lists.layout import CSV, Column, Layout
from inventory.price_lists.rows import sheet_names


@dataclass(frozen=True, slots=True)
class Proposal:
    """`decimal_sign` of the layout is empty where the figures don't settle it. `notes` say what differs from the last list."""

    layout: Layout
    sample: Sample
    sheets: Sequence[str]
    notes: Sequence[str]


def last_layout(supplier: Supplier, currency: str) -> Layout | None:
    """As somebody confirmed it for this supplier's last file."""
    kept = ListLayout.objects.filter(supplier=supplier).first()
    if kept is None:
        return None
    return Layout(
        kind=kept.file_kind,
        currency=currency,
        encoding=kept.encoding,
        delimiter=kept.delimiter,
        decimal_sign=kept.decimal_sign,
        sheet=kept.sheet,
        first_row=kept.first_row,
        columns=tuple(Column(*one) for one in kept.columns.get("meaning", [])),
        headings=tuple(kept.headings),
        price_for=kept.columns.get("price_for", 1),
        is_whole=kept.is_whole,
    )


def propose(path: Path, kind: str, encoding: str, currency: str, last: Layout | None, asked: Layout | None = None) -> Proposal:
    """`asked` is what the person chose on the page; it wins over everything but decides only how the rows are read."""
    base = asked or _opening(path, kind, encoding, currency, last)
    sheets = sheet_names(path) if kind != CSV else []
    if kind != CSV and base.sheet not in sheets:
        base = replace(base, sheet=sheets[0] if sheets else "")
    sample = sample_of(path, base)
    seen_sign = decimal_sign_of(sample)
    first_row = base.first_row if asked else _first_row(sample, last)
    headings = headings_of(sample, first_row)
    columns, notes = _columns(headings, last)
    sign = base.decimal_sign
    if asked is None and last is not None and seen_sign and seen_sign != last.decimal_sign:
        notes.append("The figures don't look as the last list's did: say anew which decimal sign they have.")
        sign = ""
    elif asked is None and last is None:
        sign = seen_sign
    layout = replace(base, first_row=first_row, headings=tuple(headings), columns=tuple(columns), decimal_sign=sign)
    return Proposal(layout, sample, sheets, notes)


def _opening(path: Path, kind: str, encoding: str, currency: str, last: Layout | None) -> Layout:
    """How the file is opened. A file that is UTF-8 or bears a mark is read so, whatever the last one was."""
    fitting = last if last is not None and last.kind == kind else None
    if fitting is None:
        chosen = Layout(kind, currency, encoding, delimiter_of(path, encoding) if kind == CSV else "")
        return (
            chosen
            if last is None
            else replace(chosen, price_for=last.price_for, is_whole=last.is_whole, decimal_sign=last.decimal_sign)
        )
    if kind != CSV:
        return replace(fitting, currency=currency)
    same = fitting.encoding if not encoding.startswith("utf") and not fitting.encoding.startswith("utf") else encoding
    delimiter = delimiter_of(path, same)
    if sample_of(path, replace(fitting, encoding=same)).width >= len(fitting.headings) > 1:
        delimiter = fitting.delimiter
    return replace(fitting, currency=currency, encoding=same, delimiter=delimiter)


def _first_row(sample: Sample, last: Layout | None) -> int:
    if last is not None and tuple(headings_of(sample, last.first_row)) == tuple(last.headings):
        return last.first_row
    return first_row_of(sample)


def _columns(headings: Sequence[str], last: Layout | None) -> tuple[list[Column], list[str]]:
    if last is None:
        return columns_of(headings), []
    columns = columns_again(last.columns, last.headings, headings)
    if tuple(headings) == tuple(last.headings):
        return columns, ["Read as the last list of this supplier was. Look it over and try it."]
    given = {(one.meaning, one.count) for one in columns}
    new = [one for one in columns_of(headings) if headings[one.index] not in last.headings]
    columns += [one for one in new if (one.meaning, one.count) not in given]
    return columns, [_headings_differ(headings, last.headings)]


def _headings_differ(headings: Sequence[str], before: Sequence[str]) -> str:
    new = [f"“{one}”" for one in headings if one and one not in before]
    gone = [f"“{one}”" for one in before if one and one not in headings]
    said = [f"new: {', '.join(new)}"] if new else []
    said += [f"gone: {', '.join(gone)}"] if gone else []
    return f"The headings differ from the last list's ({'; '.join(said) or 'another order'}). Check what every column means."
