"""One line of a file into one offer, by the confirmed layout."""

import re
from collections.abc import Sequence

from inventory.price_lists.caps import LONGEST_CELL, LONGEST_CODE, LONGEST_TEXT
from inventory.price_lists.figures import read_breaks, read_count, read_days, read_price
from inventory.price_lists.layout import BREAKS, CODE, CURRENCY, LEAD, LEAST, PACK, PER_PACK, PRICE, TEXT, Layout, Line
from inventory.price_lists.problems import LineFault

# A day that a spreadsheet made out of a code (1-2-3) or a price: what stood there first is lost. `rows` marks it so.
DAY_MARK = "\ufffe"
_CONTROLS = "".join(map(chr, (*range(9), *range(14, 32))))
_UNFIT = re.compile(f"[{_CONTROLS}\ufffd{DAY_MARK}]")
# Spreadsheets write ="00123" to keep zeros in front: a text, not a sum.
_KEPT_TEXT = re.compile(r'="([^"]*)"')


class LineReader:
    """Reads lines of one file. `digits`: decimals of the list's currency by ISO 4217."""

    def __init__(self, layout: Layout, digits: int) -> None:
        self.layout, self.digits = layout, digits
        self.sign, self.currency, self.width = layout.decimal_sign, layout.currency, layout.width
        self.prices = sorted((one.count, one.index) for one in layout.columns if one.meaning == PRICE)
        self.code = layout.indices(CODE)[0]
        self.text, self.breaks, self.pack, self.least, self.lead, self.money = (
            next(iter(layout.indices(meaning)), -1) for meaning in (TEXT, BREAKS, PACK, LEAST, LEAD, CURRENCY)
        )
        self.needed = max((column.index + 1 for column in layout.columns), default=0)

    def read(self, cells: Sequence[str]) -> Line:
        """Raises LineFault, with the order code where that could be read."""
        if len(cells) < self.needed:
            cells = [*cells, *[""] * (self.needed - len(cells))]
        code = self._code(cells)
        try:
            if len(cells) > self.width and any(cells[self.width :]):
                raise LineFault(
                    f"There are more cells than {self.width}. A delimiter may stand in a text without quotation marks."
                )
            self._check_currency(cells)
            pack = read_count(self._cell(cells, self.pack), "the number in a pack", self.sign)
            least = read_count(self._cell(cells, self.least), "the fewest that are sold", self.sign)
            prices = self._prices(cells, pack)
            text, lead = self._text(cells), read_days(self._cell(cells, self.lead))
        except LineFault as fault:
            raise LineFault(fault.message, code) from fault
        breaks = ", ".join([f"[{count}, {milli}]" for count, milli in prices])
        return Line(code, text, f"[{breaks}]", prices[0][1], pack, max(least, prices[0][0]), lead)

    def _cell(self, cells: Sequence[str], index: int) -> str:
        if index < 0:
            return ""
        cell = cells[index].strip()
        if cell[:1] in (DAY_MARK, "="):
            cell = _plain(cell)
        return cell

    def _code(self, cells: Sequence[str]) -> str:
        code = self._cell(cells, self.code)
        if not code:
            raise LineFault("There is no order code.")
        if not (code.isascii() and code.isprintable()):
            code = " ".join(code.split())
            _refuse_unfit(code)
        if len(code) > LONGEST_CODE:
            raise LineFault(f"The order code is longer than {LONGEST_CODE} signs.")
        return code

    def _text(self, cells: Sequence[str]) -> str:
        text = " ".join(self._cell(cells, self.text).split())
        if len(text) > LONGEST_CELL:
            raise LineFault(f"The description has {len(text):,} signs. A quotation mark may be missing.")
        if not (text.isascii() and text.isprintable()):
            _refuse_unfit(text)
        return text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1].rstrip()}…"

    def _check_currency(self, cells: Sequence[str]) -> None:
        found = self._cell(cells, self.money)
        if found and found.upper() != self.currency:
            raise LineFault(f"The price is in {found[:20]}, the list in {self.currency}.")

    def _prices(self, cells: Sequence[str], pack: int) -> list[tuple[int, int]]:
        """Each count with the price of one, the counts rising."""
        found: dict[int, int] = {}
        for count, index in self.prices:
            if cell := self._cell(cells, index):
                found[count] = read_price(cell, self.sign, self.digits, self.currency)
        if self.breaks >= 0 and (cell := self._cell(cells, self.breaks)):
            found |= read_breaks(cell, self.sign, self.digits, self.currency)
        if not found:
            raise LineFault("There is no price.")
        per = pack if self.layout.price_for == PER_PACK else self.layout.price_for
        return sorted(found.items() if per == 1 else ((count, _of_one(milli, per)) for count, milli in found.items()))


def _of_one(milli: int, per: int) -> int:
    """Half a thousandth of the smallest coin is rounded up: three for 1.00 are 33.333 pence each."""
    found = (2 * milli + per) // (2 * per)
    if not found:
        raise LineFault("One piece costs less than a thousandth of the smallest coin.")
    return found


def _plain(cell: str) -> str:
    if cell.startswith(DAY_MARK):
        raise LineFault(f"The spreadsheet made a day of it ({cell[1:11]}). Ask for the list with this column as text.")
    if kept := _KEPT_TEXT.fullmatch(cell):
        return kept[1].strip()
    raise LineFault(f"“{cell[:40]}” is a formula. Ask for the list with values only.")


def _refuse_unfit(text: str) -> None:
    if found := _UNFIT.search(text):
        what = "a sign that the chosen encoding doesn't have" if found[0] == "\ufffd" else "a control sign"
        raise LineFault(f"“{_UNFIT.sub('?', text)[:40]}” holds {what}. Check the encoding.")
