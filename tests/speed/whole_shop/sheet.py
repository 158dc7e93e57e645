"""The change-log sheet at 200 positions: the page, its drawing alone, and plain templates that show the very same."""

import re
from collections.abc import Callable
from decimal import Decimal
from html import unescape
from typing import Any
from unittest.mock import patch

from django.db import transaction
from django.shortcuts import render
from django.template import engines
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from inventory.components.writing import write_value
from jobs.models import Decision, Job, Position, Stage
from jobs.queries.sheet import read_called
from jobs.services import log
from jobs.services.log import Author
from shop.clock import now
from shop.models import Role, Staff

ROW = re.compile(r"<tr\b.*?</tr>", re.DOTALL)
TAG = re.compile(r"(<[^>]*>)")
FILLED = re.compile(r'\b(href|action|value|hx-get)="([^"]*)"')
CELL = re.compile(r"<t[dh]\b[^>]*>(.*?)</t[dh]>", re.DOTALL)
PLAIN = (
    '<table>{% for row in rows %}<tr class="row">{% for cell in row %}'
    '<td class="cell">{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>'
)
Work = Callable[[], Any]


def sheet_works(rows: int, client: Any) -> tuple[dict[str, Work], int]:
    """What is timed, and how many cells each shows. Positions with entries are added to an open job of this scratch shop.

    `page`: asked for through the client. `drawn`: its template with all around the rows, from a context that was read and judged.
    `plain page`: a template of the same page, its tags as they are, and each text, address, entered value and cell a variable
    that holds a string already. `rows`: the sheet's rows alone. `plain`: the cells of those rows, strings already. Links and
    forms stand in the cells as the page has them, marked safe, so the plain templates needn't even escape these.
    """
    job = Job.objects.filter(stage=Stage.REPAIRING, billed=False).order_by("-log_seq")[0]
    _fill_up(job, rows)
    address = reverse("jobs:change_log", args=[job.pk])
    request, context = _context_of(address, client)
    drawn_rows: Callable[[], SafeString] = context["drawn_rows"]
    cells = [[mark_safe(cell) for cell in CELL.findall(row)] for row in ROW.findall(drawn_rows())]
    ours, plain = engines["django"].get_template("jobs/job_sheet.html"), engines["django"].from_string(PLAIN)
    around, said = _plain_around(ours.render(context, request))
    plain_page = engines["django"].from_string(around)
    works: dict[str, Work] = {
        "page": lambda: client.get(address),
        "drawn": lambda: ours.render(context, request),
        "plain page": lambda: plain_page.render({"rows": cells, "said": said}, request),
        "rows": drawn_rows,
        "plain": lambda: plain.render({"rows": cells}),
    }
    return works, sum(map(len, cells))


def _plain_around(page: str) -> tuple[str, list[str]]:
    """The page as a template with `PLAIN` in the place of the sheet's rows, and what its variables hold."""
    before, _, rest = page.partition('<table class="sheet">')
    after = rest.partition("</table>")[2]
    said: list[str] = []

    def held(text: str) -> str:
        said.append(unescape(text))
        return f"{{{{ said.{len(said) - 1} }}}}"

    def put(part: str) -> str:
        if part.startswith("<"):
            return FILLED.sub(lambda one: f'{one[1]}="{held(one[2])}"', part)
        return held(part) if part.strip() else part

    drawn = ["".join(map(put, TAG.split(one))) for one in (before, after)]
    return PLAIN.join(drawn), said


def _context_of(address: str, client: Any) -> tuple[Any, dict[str, Any]]:
    """The request and the context with which the page's view draws it."""
    with patch("jobs.views.sheet.render", wraps=render) as drawing:
        client.get(address)
    request, _, context = drawing.call_args.args
    return request, context


@transaction.atomic
def _fill_up(job: Job, rows: int) -> None:
    there = list(Position.objects.filter(job=job))
    for at in range(rows - len(there)):
        like = there[at % len(there)]
        Position.objects.create(job=job, designator=f"Z{at}", role=like.role, called=like.called, order=1000 + at)
    person = Staff.objects.filter(role=Role.BENCH, is_active=True)[0]
    bare = Position.objects.filter(job=job, designator__startswith="Z", entries=None)
    for at, position in enumerate(bare.select_related("job")):
        _write(position, Author(person, now()), decide=at % 2 == 0)


def _write(position: Position, author: Author, *, decide: bool) -> None:
    """What is called for was found, and reads a quarter more; every second one stays in."""
    log.record_found(position, position.called or "unmarked", author)
    called = read_called(position.called, position.role)
    if called is not None:
        log.record_measured(position, write_value(called.value * Decimal("1.25"), called.kind), author)
    if decide:
        log.decide(position, Decision.KEEP, author, why="It works well with that value.")
