"""Marks that carry a state in a shape and a word, never in a colour alone; the numbered tag; the figures of the exposure bar."""

from dataclasses import dataclass

from django.utils.html import format_html
from django.utils.safestring import SafeString

SIGNS = {"yes": "✓", "warn": "!", "no": "✕", "wait": "…", "note": "•", "open": "○", "done": "●"}
BAR_WIDTH = 1000


def state(mark: str, word: str) -> SafeString:
    """A badge; an unknown mark is an error of the template, not a state."""
    return format_html(
        '<span class="state state-{}"><span class="state-mark" aria-hidden="true">{}</span>{}</span>', mark, SIGNS[mark], word
    )


def tag_number(number: str, url: str = "") -> SafeString:
    if url:
        return format_html('<a class="tag-number" href="{}">{}</a>', url, number)
    return format_html('<span class="tag-number">{}</span>', number)


@dataclass(frozen=True)
class Exposure:
    """What a job has cost and will cost against what was agreed to, in minor units. `ceiling` = consented + allowance.

    The bar's lengths are in thousandths of its width; its full width is the largest of the sums, so nothing runs out of it.
    """

    spent: int
    to_come: int
    consented: int
    ceiling: int

    @property
    def total(self) -> int:
        return self.spent + self.to_come

    @property
    def over(self) -> int:
        """How far spent and still to come together pass the ceiling; 0 within it."""
        return max(0, self.total - self.ceiling)

    @property
    def left(self) -> int:
        return max(0, self.ceiling - self.total)

    @property
    def allowance(self) -> int:
        return self.ceiling - self.consented

    @property
    def state(self) -> SafeString:
        if not self.consented:
            return state("open", "Nothing agreed to yet")
        if self.spent > self.ceiling:
            return state("no", "Spent above the agreed sum")
        return state("warn", "Will pass the agreed sum") if self.over else state("yes", "Within the agreed sum")

    @property
    def spent_width(self) -> int:
        return self._scaled(self.spent)

    @property
    def total_width(self) -> int:
        return self._scaled(self.total)

    @property
    def consented_at(self) -> int:
        return self._scaled(self.consented)

    @property
    def ceiling_at(self) -> int:
        return self._scaled(self.ceiling)

    def _scaled(self, minor: int) -> int:
        return BAR_WIDTH * max(0, minor) // max(self.total, self.ceiling, 1)
