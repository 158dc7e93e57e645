"""Plain templates of some lists, written by hand: the same rows, each cell made in the template by the framework's own means.

What `lists` compares with has its cells as ready strings, so that a list pays for its addresses, days and sums and the other side
doesn't. Here both do. A template must say word for word what the list says, or there is no comparison.
"""

import re
from collections.abc import Callable
from typing import Any

from django.template import engines
from django.utils.html import strip_tags

_TABLE = (
    "{{% load shop_tags %}}<table><thead><tr>{{% for one in heads %}}<th>{{{{ one }}}}</th>{{% endfor %}}</tr></thead>"
    "<tbody>{{% for row in rows %}}<tr>{cells}</tr>{{% endfor %}}</tbody></table>"
)
_DAY = "{{% if row.{0} %}}{{{{ row.{0}|day }}}}{{% endif %}}"
_JOB = '{{% url "{0}" {1}.pk as address %}}{{% tag_number {1}.number address %}}'

CELLS: dict[str, tuple[str, ...]] = {
    "JobTable": (
        _JOB.format("jobs:job", "row"),
        "{{ row.radio.model }}{% if row.radio.serial %}, {{ row.radio.serial }}{% endif %}",
        "{{ row.customer }}",
        "{{ row.get_stage_display }}",
        "{% if row.waits_for %}{% firstof row.waits_note row.get_waits_for_display as waits %}"
        '{% state "wait" waits %}{% endif %}',
        '{{ row.bench|default:"" }}',
        _DAY.format("promised_on") + '{% if row.promised_on and row.is_late %} {% state "warn" "overdue" %}{% endif %}',
    ),
    "CustomersTable": (
        '<a href="{% url "shop:customer" row.pk %}">{{ row.name }}</a>',
        "{% firstof row.phone table_default %}",
        "{% firstof row.email table_default %}",
        "{{ row.set_count }}",
        "{{ row.open_count }}",
        _DAY.format("last_in_at"),
    ),
    "SetTable": (
        '<a href="{% url "jobs:set_change" row.pk %}">{{ row.model }}</a>',
        "{{ row.serial }}",
        "{{ row.customer }}",
        "{{ row.job_count }}",
        '{% if row.last_number %}{% url "jobs:job" row.last_job as address %}{% tag_number row.last_number address %}{% endif %}',
    ),
    "LabourTable": (
        _DAY.format("worked_on"),
        _JOB.format("jobs:labour", "row.job"),
        "{{ row.get_step_display }}",
        "{% firstof row.text row.task.name %}",
        "{{ row.worker }}",
        "{% if row.minutes %}{{ row.minutes|hours }}{% endif %}",
        "{{ row.amount_minor|money:currency }}",
        '{% if row.withdrawn %}{% state "note" "Taken back" %}{% elif row.charged %}{% state "done" "Charged" %}{% else %}'
        '{% state "note" "Not charged" %}{% endif %}',
    ),
}


def by_hand(table: Any, drawn: Callable[[], str]) -> Callable[[], str] | None:
    """The same rows through the template of this list; None where there is none. LookupError where it says anything else."""
    cells = CELLS.get(type(table).__name__)
    if cells is None:
        return None
    template = engines["django"].from_string(_TABLE.format(cells="".join(f"<td>{cell}</td>" for cell in cells)))
    held = {
        "rows": [row.record for row in table.paginated_rows],
        "heads": [column.header for column in table.columns],
        "currency": getattr(table, "currency", ""),
        "table_default": table.default,
    }
    if _words(template.render(held)) != _words(drawn()):
        raise LookupError(f"the plain template of {type(table).__name__} says something else than the list")
    return lambda: template.render(held)


def _words(page: str) -> str:
    body = page.partition("<tbody>")[2].partition("</tbody>")[0]
    return re.sub(r"\s+", "", strip_tags(body))
