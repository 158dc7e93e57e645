"""The change-log sheet at 200 positions, against a plain template that has its cells as strings already."""

import re
from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.template import engines
from django.urls import reverse
from django.utils.safestring import mark_safe

from jobs.models import Job, Position, Stage

ROW = re.compile(r"<tr\b.*?</tr>", re.DOTALL)
CELL = re.compile(r"<t[dh]\b[^>]*>(.*?)</t[dh]>", re.DOTALL)
PLAIN = (
    '<table>{% for row in rows %}<tr class="row">{% for cell in row %}'
    '<td class="cell">{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>'
)


def sheet_pair(rows: int, client: Any) -> tuple[Callable[[], Any], Callable[[], Any], int]:
    """The whole page, the plain table, and how many cells both show. Positions are added to an open job of this scratch shop."""
    job = Job.objects.filter(stage=Stage.REPAIRING).order_by("-log_seq")[0]
    _fill_up(job, rows)
    address = reverse("jobs:change_log", args=[job.pk])
    html = client.get(address).content.decode()
    cells = [[mark_safe(cell) for cell in CELL.findall(row)] for row in ROW.findall(html)]
    plain = engines["django"].from_string(PLAIN)
    return (lambda: client.get(address)), (lambda: plain.render({"rows": cells})), sum(map(len, cells))


@transaction.atomic
def _fill_up(job: Job, rows: int) -> None:
    there = list(Position.objects.filter(job=job))
    for at in range(rows - len(there)):
        like = there[at % len(there)]
        Position.objects.create(job=job, designator=f"Z{at}", role=like.role, called=like.called, order=1000 + at)
