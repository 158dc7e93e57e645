"""The estimate's pages: every version of a job on one page, its draft edited there, its private link, its paper."""

from collections.abc import Callable
from typing import TypeVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.alternatives import AlternativeForm, PlacesForm
from jobs.forms.estimates import FORMS, BecauseForm, FindingForm, LineForm, NoteForm, form_for, initial_of
from jobs.models import Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind
from jobs.queries.alternatives import MOST_ALTERNATIVES, SUGGESTED, placeable
from jobs.queries.estimates import Version, drift_of, newest_given, versions_of, work_standing
from jobs.queries.evidence import findings_to_add
from jobs.queries.learned import expected_of
from jobs.queries.revisions import revision_of
from jobs.queries.sheet import Sheet, sheet_of
from jobs.services import estimates
from shop import acts
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Profile, Role
from shop.web.codes import qr_path
from shop.web.forms import SeenForm, TradeForm
from shop.web.pages import Undo, answer_once, go, refuse, warn
from shop.web.press import press, seen_in

HEADS = ("radio__model", "customer")


def page_of(estimate: Estimate) -> str:
    return reverse("jobs:estimate", args=[estimate.job_id])


def load_estimate(pk: int) -> Estimate:
    return get_object_or_404(Estimate.objects.select_related("job__radio__model", "job__customer"), pk=pk)


@role_required(*EVERYBODY)
def estimate(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related(*HEADS), pk=pk)
    if request.method == "POST":
        return _draft(request, job)
    return show_estimate(request, job)


def show_estimate(request: HttpRequest, job: Job, form: TradeForm | None = None) -> HttpResponse:
    """The page of all versions; a refused form is shown in its place with everything typed."""
    versions = versions_of(job, now())
    profile = Profile.current()
    draft = next((one for one in versions if one.estimate.is_draft), None)
    given = newest_given(job)
    compared = draft.estimate if draft else given
    sheet = sheet_of(job)
    newest = versions[0].estimate if versions else None
    context = {
        "job": job,
        "versions": versions,
        "draft": draft,
        "drift": drift_of(compared, profile, sheet) if compared and profile else None,
        "compared": compared,
        "work": work_standing(draft.estimate) if draft else None,
        "revision": revision_of(newest) if newest else None,
        "may_edit": may(request.user, Role.COUNTER),
        **(_draft_forms(draft, sheet, form) if draft else {}),
    }
    return render(request, "jobs/estimate.html", context, status=form.status if form else 200)


LINE_WORDS = {"time": "Add time", "task": "Add a flat task", "sum": "Add a fee, or a part that is not in stock"}
Kind = TypeVar("Kind", bound=TradeForm)


def _draft_forms(draft: Version, sheet: Sheet, bound: TradeForm | None) -> dict[str, object]:
    """The forms that a draft is edited with, `bound` in the place of its own kind."""
    estimate = draft.estimate
    seen = {"seen": estimate.version}
    findings = findings_to_add(estimate.job, estimate)
    alternatives = [one.alternative for one in draft.choices]
    return {
        "line_forms": _line_forms(estimate, bound),
        "note_form": _kept(bound, NoteForm) or NoteForm(initial={"note": estimate.note, **seen}),
        "because_form": _kept(bound, BecauseForm) or BecauseForm(initial={"because": estimate.because, **seen}),
        "findings_to_add": findings,
        "finding_form": _kept(bound, FindingForm) or FindingForm(findings=findings, initial=seen),
        "alternative_form": _kept(bound, AlternativeForm) or AlternativeForm(initial=seen, auto_id="alternative_%s"),
        "places_form": _kept(bound, PlacesForm)
        or PlacesForm(lines=placeable(draft.lines, sheet), alternatives=alternatives, initial=seen, auto_id="place_%s"),
        "most_alternatives": MOST_ALTERNATIVES,
        "suggested": SUGGESTED,
    }


def _kept(bound: TradeForm | None, kind: type[Kind]) -> Kind | None:
    return bound if isinstance(bound, kind) else None


def _line_forms(draft: Estimate, bound: TradeForm | None) -> list[tuple[LineForm, str]]:
    forms = []
    for what, words in LINE_WORDS.items():
        is_bound = isinstance(bound, LineForm) and bound.what == what
        forms.append((bound if is_bound and isinstance(bound, LineForm) else FORMS[what](estimate=draft), words))
    return forms


@role_required(Role.COUNTER)
@require_POST
def estimate_draft(request: HttpRequest, pk: int) -> HttpResponse:
    return _draft(request, get_object_or_404(Job, pk=pk))


def _draft(request: HttpRequest, job: Job) -> HttpResponse:
    person = staff_of(request)
    address = reverse("jobs:estimate", args=[job.pk])
    said = "A version is drafted from the change log. Add the time the work will take, then look it over."
    return press(request, "draft estimate", lambda: estimates.draft(job, person=person, at=now()), address, said)


@role_required(Role.COUNTER)
@require_POST
def estimate_line_add(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    form = FORMS.get(request.POST.get("what", ""), FORMS["sum"])(request.POST, estimate=shown)
    return _save_line(request, shown, form, None) or show_estimate(request, shown.job, form)


def _save_line(request: HttpRequest, shown: Estimate, form: LineForm, line: EstimateLine | None) -> HttpResponse | None:
    """Save a typed line; None where it was refused and the form has to be shown again."""
    if not form.is_valid():
        return None

    def work() -> str:
        # A new line meets no older one; a changed line must be the one that was seen.
        seen = form.cleaned_data["seen"] if line is not None else None
        estimates.add_line(shown, form.typed(), line=line, seen=seen)
        return page_of(shown)

    try:
        where, done = acts.once(form.cleaned_data["once"], "type estimate line", work)
    except Stale as stale:
        form.take_refusal(stale)
        shown.refresh_from_db()
        form.see(shown.version)
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, f"The line “{form.cleaned_data.get('text') or 'flat task'}” is on the draft.")


@role_required(Role.COUNTER)
def estimate_line_change(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(EstimateLine.objects.select_related("estimate__job__radio__model", "estimate__job__customer"), pk=pk)
    shown = line.estimate
    if line.from_log or _lost_its_task(line) or not shown.is_draft:
        warn(request, _why_fixed(line))
        return go(request, page_of(shown))
    kind = form_for(line)
    form = kind(request.POST, estimate=shown) if request.method == "POST" else kind(estimate=shown, initial=initial_of(line))
    saved = _save_line(request, shown, form, line) if request.method == "POST" else None
    return saved or render(
        request, "jobs/estimate_line.html", {"form": form, "line": line, "estimate": shown, "job": shown.job}, status=form.status
    )


def _lost_its_task(line: EstimateLine) -> bool:
    """Flat tasks typed before lines kept their task have a price and nothing to reckon another one from."""
    return line.kind == EstimateLineKind.FLAT and line.task_id is None


def _why_fixed(line: EstimateLine) -> str:
    if not line.estimate.is_draft:
        return f"Version {line.estimate.number} was sent and is frozen. Draft a new version to change anything."
    if line.from_log:
        return estimates.FROM_LOG
    return "This line doesn't say which flat task it is. Take it away and add the task again."


@role_required(Role.COUNTER)
@require_POST
def estimate_line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    line = EstimateLine.objects.select_related("estimate__job").filter(pk=pk).first()
    if line is None:
        return _gone(request)
    said = f"The line “{line.text}” is off the draft."
    return press(request, "remove estimate line", lambda: estimates.remove_line(line), page_of(line.estimate), said)


def _gone(request: HttpRequest) -> HttpResponse:
    warn(request, "That line was taken away already.")
    job = request.POST.get("job", "")
    return go(request, "jobs:estimate", int(job)) if job.isdecimal() and len(job) < 18 else go(request, "today")


@role_required(Role.COUNTER)
@require_POST
def estimate_redraw(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    return press(
        request, "redraw estimate", lambda: estimates.redraw(shown), page_of(shown), "The draft says what the log says now."
    )


@role_required(Role.COUNTER)
@require_POST
def estimate_note(request: HttpRequest, pk: int) -> HttpResponse:
    shown, form = load_estimate(pk), NoteForm(request.POST)

    def work() -> None:
        estimates.set_note(shown, form.cleaned_data["note"], seen=form.cleaned_data["seen"])

    return edit_draft(request, shown, form, "estimate note", work, "The note is on the draft.")


def edit_draft(
    request: HttpRequest, shown: Estimate, form: SeenForm, act: str, work: Callable[[], object], said: str
) -> HttpResponse:
    """One form that edits a draft; refused, the page comes back with it, and a stale one may be sent again."""

    def answer() -> str:
        work()
        return page_of(shown)

    if form.is_valid():
        try:
            return answer_once(request, *acts.once(form.cleaned_data["once"], act, answer), said)
        except Stale as stale:
            form.take_refusal(stale)
            shown.refresh_from_db()
            form.see(shown.version)
        except Refused as refused:
            form.take_refusal(refused)
    return show_estimate(request, shown.job, form)


@role_required(Role.COUNTER)
@require_POST
def estimate_send(request: HttpRequest, pk: int) -> HttpResponse:
    shown, person, seen = load_estimate(pk), staff_of(request), seen_in(request)
    said = f"Version {shown.number} is frozen. Give the customer its paper or a private link, or write their answer down."
    profile = Profile.current()
    # Reckoned before the act: it takes a moment, and nobody else could write meanwhile.
    expected = expected_of(shown, profile, now()) if profile and shown.is_draft else None

    def work() -> None:
        estimates.send(shown, person=person, at=now(), seen=seen, expected=expected)

    return press(request, "send estimate", work, page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def estimate_recall(request: HttpRequest, pk: int) -> HttpResponse:
    shown, person = load_estimate(pk), staff_of(request)
    said = f"Version {shown.number} is taken back; its link leads nowhere any more."
    return press(request, "recall estimate", lambda: estimates.recall(shown, person=person, at=now()), page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def estimate_link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    undo = Undo(reverse("jobs:estimate_link_restore", args=[pk]), "Undo: let it read again")
    said = f"The private link to version {shown.number} leads nowhere any more."
    return press(request, "revoke link", lambda: estimates.revoke_link(shown, at=now()), page_of(shown), said, undo)


@role_required(Role.COUNTER)
@require_POST
def estimate_link_restore(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    said = f"The private link to version {shown.number} leads there again."
    return press(request, "restore link", lambda: estimates.restore_link(shown, at=now()), page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def estimate_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a private link and show it, this once: only its hash is kept, so the token must not go through the once-mark."""
    shown, person, made = load_estimate(pk), staff_of(request), []

    def work() -> str:
        made.append(estimates.make_link(shown, person=person, at=now()))
        return page_of(shown)

    try:
        where, _ = acts.once(request.POST.get("once"), "make link", work)
    except Refused as refused:
        return refuse(request, refused.message, back=page_of(shown))
    if made:
        return _show_link(request, shown, made[0])
    warn(request, "That link was made and shown already. If nobody copied it, make a new one; the old one then leads nowhere.")
    return go(request, where)


def _show_link(request: HttpRequest, shown: Estimate, token: str) -> HttpResponse:
    url = request.build_absolute_uri(reverse("approve", args=[token]))
    context = {"estimate": shown, "job": shown.job, "url": url, "token": token, "qr": qr_path(url)}
    answer = render(request, "jobs/estimate_link.html", context)
    answer["Cache-Control"] = "no-store"
    return answer
