"""Writing the log by one typed line. A script gets only what changed on the sheet; without one the whole page comes back."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.bench.one_line import Line, LineError, read_line
from jobs.forms.one_line import LineForm
from jobs.models import Decision, Job, LogEntry, Position, Verdict
from jobs.queries.one_line import said
from jobs.queries.sheet import VERDICT_MARKS
from jobs.services import log
from jobs.services.log import Author
from jobs.views.job_frame import carry_out, load_job, press
from jobs.views.sheet import as_number, show_sheet
from jobs.views.sheet_changes import KINDS, Change, changes
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Role
from shop.web.pages import Undo, answer_once, go, tell, wants_fragment

GIVEN_UP = "given up"


@dataclass(frozen=True, slots=True)
class Placed:
    """A line that was read, and the position it belongs to."""

    position: Position
    line: Line


def sheet_address(job_pk: int, name: str, position_pk: int) -> str:
    """The sheet with the line at a position (`at`), or at the next one behind it (`after`)."""
    return f"{reverse('jobs:change_log', args=[job_pk])}?{name}={position_pk}#line"


@role_required(Role.BENCH)
@require_POST
def line(request: HttpRequest, pk: int) -> HttpResponse:
    """Write what the line says. A line that only names a position moves there."""
    job, form = load_job(pk), LineForm(request.POST, auto_id="line_%s")
    placed = _placed(request, job, form) if form.is_valid() else None
    if placed is None:
        return _refused(request, job, form)
    if placed.line.is_only_a_place and form.cleaned_data["line"].strip():
        return _moved(request, job, form, placed.position)
    written: list[LogEntry] = []
    author = Author(staff_of(request), now(), form.cleaned_data["seen"])

    def work() -> str:
        written.extend(log.write_line(placed.position, placed.line, author))
        return sheet_address(pk, "after", placed.position.pk)

    done = carry_out(form, "line", work)
    if done is None:
        return _refused(request, job, form)
    return _written(request, job, form, placed.position, done, written)


def _placed(request: HttpRequest, job: Job, form: LineForm) -> Placed | None:
    """None, with the refusal in the form, where the line can't be read or isn't this person's."""
    typed, positions = form.cleaned_data, {one.designator: one for one in job.positions.all()}  # type: ignore[attr-defined]
    form.designators = tuple(positions)
    try:
        _check_writer(request, typed["writer"])
        _give_up(typed["instead"], typed["line"])
        form.read = read_line(typed["line"], positions)
        return Placed(_place(form.read, typed["at"], positions), form.read)
    except LineError as error:
        form.take_refusal(Refused(error.message, code=error.code))
    except Refused as refused:
        form.take_refusal(refused)
    return None


def _check_writer(request: HttpRequest, writer: str) -> None:
    """Whoever typed the line may have signed out meanwhile, and another person in."""
    if writer and writer != staff_of(request).username:
        raise Refused(
            f"This line was typed while {writer} was signed in, and is written under no other name. "
            f"Sign in as {writer}, or remove it.",
            code="other_person",
        )


def _give_up(instead: object, text: str) -> None:
    """A line that was changed after it was sent: the first sending counts for nothing, if it comes at all."""
    if instead is None:
        return
    answer, _ = acts.once(str(instead), "line given up", lambda: GIVEN_UP)
    if answer != GIVEN_UP:
        told = "The line you took away had arrived before. Look at its row: send this one too, or take that one back."
        raise Refused(told, code="arrived")
    if not text.strip():
        raise Refused("The line is removed; nothing of it was written.", code="given_up")


def _place(line: Line, at: int | None, positions: Mapping[str, Position]) -> Position:
    here = {one.pk: one for one in positions.values()}.get(at or 0)
    place = positions[line.position] if line.position else here
    if place is None:
        raise Refused("The line stands at no position of this sheet. Begin it with one.")
    return place


def _written(
    request: HttpRequest, job: Job, form: LineForm, position: Position, done: tuple[str, bool], written: list[LogEntry]
) -> HttpResponse:
    words = f"{position.designator}: {'; '.join(said(entry) for entry in written)}."
    if wants_fragment(request):
        told = words if done[1] else f"{position.designator} was written before, and once only."
        return changes(request, job, Change("written", told, form.cleaned_data["seen"]))
    hidden: dict[str, str | int] = {"first": written[0].seq, "last": written[-1].seq} if written else {}
    undo = Undo(reverse("jobs:line_take_back", args=[job.pk]), "Take it back", hidden) if written else None
    return answer_once(request, *done, said=words, undo=undo)


def _moved(request: HttpRequest, job: Job, form: LineForm, position: Position) -> HttpResponse:
    if wants_fragment(request):
        told = f"The line stands at {position.designator}."
        return changes(request, job, Change("moved", told, form.cleaned_data["seen"], at=position.pk))
    return go(request, sheet_address(job.pk, "at", position.pk))


def _refused(request: HttpRequest, job: Job, form: LineForm) -> HttpResponse:
    if not wants_fragment(request):
        return show_sheet(request, load_job(job.pk), status=form.status, line_form=form)
    answer = "stale" if isinstance(form.refusal, Stale) else (form.refusal.code if form.refusal else "")
    kind = answer if answer in KINDS else "refused"
    told = " ".join(str(error) for errors in form.errors.values() for error in errors)
    seen = as_number(request.POST.get("seen")) or 0
    return changes(request, job, Change(kind, told, seen, choices=tuple(form.choices)))


@role_required(Role.BENCH)
def line_read(request: HttpRequest, pk: int) -> HttpResponse:
    """A piece for a script: how the line that is being typed would be read and judged. Nothing is written."""
    job, text = load_job(pk), request.GET.get("line", "")
    positions = {one.designator: one for one in job.positions.all()}  # type: ignore[attr-defined]
    context: dict[str, object] = {"job": job}
    try:
        read = read_line(text, positions)
        place = _place(read, as_number(request.GET.get("at")), positions)
        seen = log.foresee(place, read)
        context |= {"read": read, "seen": seen, "mark": VERDICT_MARKS.get(seen.verdict, "open")}
        context |= {"verdict": Verdict(seen.verdict).label if seen.verdict else ""}
        context |= {"decision": Decision(read.decision).label if read.decision else ""}
    except LineError as error:
        context["trouble"] = "" if error.code == "empty" else error.message
    except Refused as refused:
        context["trouble"] = refused.message
    return render(request, "jobs/_line_read.html", context)


@role_required(Role.BENCH)
@require_POST
def line_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one's own last line back, all its entries."""
    job = load_job(pk)
    first, last = as_number(request.POST.get("first")) or 0, as_number(request.POST.get("last")) or 0
    taken: list[LogEntry] = []

    def work() -> str:
        taken.extend(log.take_back_line(job, first, last, Author(staff_of(request), now())))
        return ""

    if wants_fragment(request):
        return _taken_back_in_place(request, job, work, taken)
    if press(request, "take a line back", work):
        tell(request, _taken_words(taken))
    place = taken[0].position_id if taken else None
    return go(request, sheet_address(pk, "at", place) if place else reverse("jobs:change_log", args=[pk]))


def _taken_back_in_place(request: HttpRequest, job: Job, work: Callable[[], str], taken: list[LogEntry]) -> HttpResponse:
    seen = as_number(request.POST.get("seen")) or 0
    try:
        acts.once(request.POST.get("once"), "take a line back", work)
    except Refused as refused:
        return changes(request, job, Change("refused", refused.message, seen))
    return changes(request, job, Change("taken_back", _taken_words(taken), seen))


def _taken_words(taken: list[LogEntry]) -> str:
    if not taken or taken[0].position is None:
        return "That was taken back before."
    return f"{taken[0].position.designator}: taken back. It stays readable in the position's history."
