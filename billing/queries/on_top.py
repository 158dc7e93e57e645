"""Totals of a credit note in part, on top of what was credited before it. Pure arithmetic in minor units.

Tax rounded for each note by itself would leave a coin over when all notes are added up. So a note's tax is that of all that is
credited up to it, less that of all that was credited before it: the notes of an invoice add up to the invoice, and each is within
one coin of its rate.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from shop.totals import Line, TaxedSum, TaxKey, Totals, share_out, total


def total_on_top(
    now: Sequence[Line], before: Sequence[int], others: Sequence[Line], *, prices_include_tax: bool, round_per_line: bool
) -> Totals:
    """`before`: what was taken earlier of the line at the same place of `now`; `others`: taken of lines not in `now`."""
    start = [*(_at(line, taken) for line, taken in zip(now, before, strict=True)), *others]
    end = [*(_at(line, line.amount_minor + taken) for line, taken in zip(now, before, strict=True)), *others]
    first = total(start, prices_include_tax=prices_include_tax, round_per_line=round_per_line)
    last = total(end, prices_include_tax=prices_include_tax, round_per_line=round_per_line)
    taxes = _between(first, last, {line.tax for line in now})
    nets = [line.amount_minor for line in now]
    if prices_include_tax and round_per_line:
        nets = [after - taken for taken, after in zip(first.line_net_minor, last.line_net_minor, strict=True)][: len(now)]
    elif prices_include_tax:
        nets = _without_shares(now, taxes)
    return _summed(now, nets, taxes)


def _at(line: Line, amount_minor: int) -> Line:
    return replace(line, count=Decimal(1), unit_minor=Decimal(amount_minor), discount_bp=0)


def _between(first: Totals, last: Totals, keys: set[TaxKey]) -> dict[TaxKey, int]:
    taken = {one.tax: one.tax_minor for one in first.taxes}
    return {one.tax: one.tax_minor - taken.get(one.tax, 0) for one in last.taxes if one.tax in keys}


def _without_shares(lines: Sequence[Line], taxes: dict[TaxKey, int]) -> list[int]:
    nets = [line.amount_minor for line in lines]
    for key, tax in taxes.items():
        places = [i for i, line in enumerate(lines) if line.tax == key]
        for place, part in zip(places, share_out(tax, [lines[i].amount_minor for i in places]), strict=True):
            nets[place] -= part
    return nets


def _summed(lines: Sequence[Line], nets: Sequence[int], taxes: dict[TaxKey, int]) -> Totals:
    sums = tuple(
        TaxedSum(key, sum(net for line, net in zip(lines, nets, strict=True) if line.tax == key), tax)
        for key, tax in taxes.items()
    )
    net, tax = sum(nets), sum(taxes.values())
    return Totals(tuple(nets), sums, net, tax, net + tax, 0)
