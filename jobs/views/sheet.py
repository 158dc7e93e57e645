"""The change log sheet, and quick entry in one of its rows."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString

from inventory.components.roles import role as role_of
from jobs.bench.line_letters import EXAMPLES, LETTERS, SIGNS, keys
from jobs.forms.entries import PositionForm, RowForm
from jobs.forms.one_line import LineForm
from jobs.models import Job, Position
from jobs.queries.model_history import known_of_places, with_elsewhere
from jobs.queries.one_line import last_line, last_seq, line_place
from jobs.queries.sheet import PositionState, Sheet, position_state, sheet_of, standing
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from jobs.services.log import Author
from jobs.views.job_frame import carry_out, frame, load_job
from jobs.views.sheet_rows import Look, rows_html
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.models import Role
from shop.web.context import shop_profile
from shop.web.pages import answer_once, go, wants_fragment


@dataclass(frozen=True, slots=True)
class OpenRow:
    """The row whose quick entry is open, with its form."""

    pk: int
    form: RowForm


def row_address(position: Position) -> str:
    return reverse("jobs:change_log", args=[position.job_id]) + f"#p-{position.pk}"


@role_required(*EVERYBODY)
def change_log(request: HttpRequest, pk: int) -> HttpResponse:
    return show_sheet(request, load_job(pk))


def show_sheet(
    request: HttpRequest, job: Job, opened: OpenRow | None = None, status: int = 200, line_form: LineForm | None = None
) -> HttpResponse:
    sheet = with_elsewhere(sheet_of(job))
    context = (
        frame(request, job, sheet)
        | line_context(request, sheet, line_form)
        | {
            "opened": opened,
            "set_entries": standing(sheet.set_entries),
            "letters": LETTERS,
            "signs": SIGNS,
            "examples": EXAMPLES,
            "keys": keys(),
        }
    )
    context["drawn_rows"] = drawn(request, context, sheet.rows, opened)
    return render(request, "jobs/job_sheet.html", context, status=status)


def drawn(
    request: HttpRequest, context: Mapping[str, Any], rows: Sequence[PositionState], opened: OpenRow | None = None
) -> Callable[[], SafeString]:
    """The rows for a template, drawn where it comes to them. Of the context it needs `job`, `at_bench` and `next_pk`."""
    job, at_bench = context["job"], context["at_bench"]
    look = Look(job.pk, shop_profile(request), at_bench, context.get("next_pk"))
    if opened is not None and at_bench:
        row = next(one for one in rows if one.position.pk == opened.pk)
        entry = render_to_string("jobs/_row_entry.html", {"row": row, "job": job, "form": opened.form}, request)
        look = replace(look, opened=opened.pk, entry=entry)
    return partial(rows_html, rows, look)


def line_context(request: HttpRequest, sheet: Sheet, form: LineForm | None = None) -> dict[str, object]:
    """What the line and the bar around it show: the place where it stands, the way back, and the sums."""
    asked = form.data if form is not None else request.GET
    place = line_place(sheet, as_number(asked.get("at")), as_number(request.GET.get("after")))
    person, seen = staff_of(request), last_seq(sheet)
    fresh = {"seen": seen, "at": place.position.pk if place else None, "writer": person.username}
    if form is None:
        form = LineForm(initial=fresh, auto_id="line_%s")
    else:
        form.see(seen)
    return {
        "line_form": form,
        "place": place,
        "seen": seen,
        "writer": person.username,
        "last_line": last_line(sheet, person.pk, now()),
        "planned_minor": sheet.planned_minor,
        "next_pk": sheet.next_unresolved.position.pk if sheet.next_unresolved else None,
    }


def as_number(text: object) -> int | None:
    """A row's number out of an address or a form; None for whatever else stands there."""
    return int(text) if isinstance(text, str) and text.isascii() and text.isdecimal() and len(text) < 19 else None


def row_form(state: PositionState, data: object = None) -> RowForm:
    form = RowForm(data, initial={"seen": state.last_seq}, auto_id=f"row{state.position.pk}_%s")
    form.narrow(role_of(state.role).kind)
    return form


@role_required(Role.BENCH)
def entry_row(request: HttpRequest, pk: int) -> HttpResponse:
    """Found, measured and decision of a row. A script gets the opened row; without one the position's page has the forms."""
    position = get_object_or_404(Position.objects.select_related("job__radio__model"), pk=pk)
    if request.method != "POST":
        return _opened(request, position)
    form = row_form(position_state(position), request.POST)
    author = Author(staff_of(request), now(), form.cleaned_data["seen"]) if form.is_valid() else None
    done = carry_out(form, "row entry", lambda: _write_row(position, form, author)) if author else None
    if done is not None:
        return answer_once(request, *done, said=f"{position.designator} is written.")
    form.see(position_state(position).last_seq)
    return show_sheet(request, load_job(position.job_id), OpenRow(position.pk, form), form.status)


def _opened(request: HttpRequest, position: Position) -> HttpResponse:
    if not wants_fragment(request):
        return go(request, "jobs:position", position.pk)
    known = known_of_places(position.job)
    state = replace(position_state(position), elsewhere=known.get(position.designator, ""))
    row = drawn(request, {"job": position.job, "at_bench": True}, [state], OpenRow(position.pk, row_form(state)))
    return HttpResponse(row())


def _write_row(position: Position, form: RowForm, author: Author) -> str:
    """One sending, one transaction: a refusal of the last entry takes the first ones back too."""
    typed = form.cleaned_data
    if typed["found"]:
        log.record_found(position, typed["found"], author)
    if typed["measured"]:
        log.record_measured(position, form.reading, author, in_circuit=typed["in_circuit"])
    if typed["decision"]:
        log.decide(position, typed["decision"], author, why=typed["why"])
    return row_address(position)


@role_required(Role.BENCH, Role.COUNTER)
def position_add(request: HttpRequest, pk: int) -> HttpResponse:
    """A position that the called-for list lacks."""
    job = load_job(pk)
    form = PositionForm(request.POST or None)

    def work() -> str:
        typed = form.cleaned_data
        row = CalledRow(typed["designator"], typed["role"], typed["called"], typed["note"])
        return row_address(add_position(job, row, keep_with_model=typed["keep_with_model"]))

    done = carry_out(form, "add position", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said=f"{form.cleaned_data['designator'].upper()} is on the sheet.")
    return render(request, "jobs/position_new.html", frame(request, job) | {"form": form}, status=form.status)
