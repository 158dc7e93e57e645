"""A list of the shop against a plain template of the same rows: its drawing alone, in two ways, and its whole page.

Written: rows that are read already, drawn by the shop's table and by a plain template that makes the same cells of them; of the
lists that `by_hand` has one for. Drawing: the same against a template that has the cells as ready strings. Whole page: the same
address asked of the same view, which reads the same rows in both; only the table on it is drawn either way.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.template import Context, Node, NodeList, engines
from django.test import RequestFactory
from django.utils.safestring import SafeString, mark_safe

from tests.speed.whole_shop.by_hand import by_hand

CELL = re.compile(r"<t[dh]\b[^>]*>(.*?)</t[dh]>", re.DOTALL)
PLAIN = (
    "<table><thead><tr>{% for one in heads %}<th>{{ one }}</th>{% endfor %}</tr></thead><tbody>{% for row in rows %}<tr>"
    '{% for cell in row %}<td class="cell">{{ cell }}</td>{% endfor %}</tr>{% endfor %}</tbody></table>'
)
Pair = tuple[Callable[[], Any], Callable[[], Any]]


class _Plain(Node):
    """In the place of all that `_table.html` draws: reads the table's rows as it does, then draws the ready cells."""

    def __init__(self, drawn: Callable[[], str]) -> None:
        self.drawn = drawn

    def render(self, context: Context) -> SafeString:
        for row in context["table"].paginated_rows:
            assert row.record is not None
        return mark_safe(self.drawn())


def pairs_of(table: Any, ask: Callable[[], Any]) -> dict[str, Pair]:
    """By `written`, `drawing` and `page`, both sides of each. `ask` asks for the page that the table is on."""
    from shop.web.pieces import lean_table

    ours: Any = engines["django"].get_template("_table.html")
    plain = engines["django"].from_string(PLAIN)
    lean, request = lean_table(table), RequestFactory().get("/")
    held = {
        "rows": [[mark_safe(cell) for cell in CELL.findall(row)] for row in lean.rows],
        "heads": [column.header for column in lean.columns],
    }
    instead = NodeList([_Plain(lambda: plain.render(held))])

    def ask_plain() -> None:
        with _drawing(ours.template, instead):
            ask()

    def draw() -> str:
        return str(ours.render({"table": table}, request))

    written = by_hand(table, draw)
    return {
        **({"written": (draw, written)} if written else {}),
        "drawing": (draw, lambda: plain.render(held, request)),
        "page": (ask, ask_plain),
    }


@contextmanager
def _drawing(template: Any, nodes: NodeList) -> Iterator[None]:
    """The framework keeps one compiled template a name, so this is the one that the page includes."""
    before, template.nodelist = template.nodelist, nodes
    try:
        yield
    finally:
        template.nodelist = before
