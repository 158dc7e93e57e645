"""What a script gets after an act on the sheet: the rows that changed, the sums around them, and one sentence."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.models import Job
from jobs.queries.model_history import with_elsewhere
from jobs.queries.one_line import changed_since
from jobs.queries.sheet import PositionState, sheet_of
from jobs.views.job_frame import frame, load_job
from jobs.views.sheet import drawn, line_context
from shop.access import staff_of

# What became of the line; the page's script goes by these words.
KINDS = ("written", "moved", "taken_back", "refused", "stale", "other_person", "arrived", "given_up")
DONE = ("written", "moved", "taken_back", "given_up")


@dataclass(frozen=True, slots=True)
class Change:
    """What happened, the sentence that says so, and the last entry that the page had seen.

    `at`: where the line goes. `choices`: (button name, whole line, reading, why) where a value of the line is doubtful.
    """

    kind: str
    told: str
    seen: int
    at: int | None = None
    choices: tuple[tuple[str, str, str, str], ...] = ()


def changes(request: HttpRequest, job: Job, change: Change) -> HttpResponse:
    """Everything up to the job's last entry is in it, so that the page has then seen all of it."""
    fresh = load_job(job.pk)
    sheet = with_elsewhere(sheet_of(fresh))
    rows = changed_since(sheet, change.seen)
    own = {
        "change": change,
        "others": [] if change.kind == "stale" else _by_others(rows, staff_of(request).pk),
    }
    context = frame(request, fresh, sheet) | line_context(request, sheet) | own
    context["drawn_rows"] = drawn(request, context, rows)
    return render(request, "jobs/_sheet_changes.html", context, status=200 if change.kind in DONE else 422)


def _by_others(rows: list[PositionState], me: int) -> list[str]:
    """Where somebody else wrote meanwhile: nobody need hear of their own lines twice."""
    return [
        f"{row.position.designator} ({row.last_entry.person})"
        for row in rows
        if row.last_entry and row.last_entry.person_id != me
    ]
