"""The change log sheet, and quick entry in one of its rows."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.components.roles import role as role_of
from jobs.forms.entries import PositionForm, RowForm
from jobs.models import Job, Position
from jobs.queries.sheet import PositionState, position_state, sheet_of, standing
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from jobs.services.log import Author
from jobs.views.job_frame import carry_out, frame, load_job
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now
from shop.models import Role
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


def show_sheet(request: HttpRequest, job: Job, opened: OpenRow | None = None, status: int = 200) -> HttpResponse:
    sheet = sheet_of(job)
    context = frame(request, job, sheet) | {
        "opened": opened,
        "set_entries": standing(sheet.set_entries),
        "planned_minor": sheet.planned_minor,
    }
    return render(request, "jobs/job_sheet.html", context, status=status)


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
    state = position_state(position)
    context = {"row": state, "job": position.job, "opened": OpenRow(position.pk, row_form(state)), "at_bench": True}
    return render(request, "jobs/_sheet_row.html", context)


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
