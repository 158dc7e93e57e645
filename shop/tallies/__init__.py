"""Pages that sum up the whole house show what was counted at a moment, which they name; a small shop is counted at every look.

A page's count is a function of its question and the moment. It gives sums and, where the page has a list, its lines:

    def count(question: Question, at: datetime) -> Sums:
        found = value_on(...)
        return Sums({"cost": found.cost_milli}, [[one.part.pk, one.cost_milli] for one in found.parts])

    STOCK_VALUE = Counting("inventory:stock_value", "Value of the stock", count, is_small)

Both ways give the same: what `count` gave just now, or what it gave when it was kept. So everything in `Sums` is JSON: whole
numbers, texts, lists; fractions by `as_text` and `as_fraction`. Lines hold primary keys and figures, **never words about
people**, as nobody erases them here: the page reads names by the keys of its own leaf.

Kept figures are never used for an act, a year's end or a decision: those count for themselves. A paper made of them names
their moment.
The view (`shop.web.tallied`):

    if request.method == "POST":
        return count_now(request, STOCK_VALUE, question)
    found = tallied(request, STOCK_VALUE, question)        # its `is_counted` is False before the first count
    # found.figures, found.leaf (of lines), `{% include "_tallied.html" %}` says the moment and has the button

A counting is named in `shop.works.tallies.COUNTINGS`, as only the roof knows all; the daily round counts its `usual` questions.
"""

from shop.tallies.counting import Counting, Line, Question, Sums, as_fraction, as_text, few
from shop.tallies.keeping import count_anew, kept, leaf_lines

__all__ = [
    "Counting",
    "Line",
    "Question",
    "Sums",
    "as_fraction",
    "as_text",
    "count_anew",
    "few",
    "kept",
    "leaf_lines",
]
