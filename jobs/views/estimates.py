"""The estimate's pages: every version of a job on one page, its draft edited there, its private link, its paper."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.documents.estimate import draw
from jobs.forms.estimates import FORMS, LineForm, NoteForm, form_for, initial_of
from jobs.models import Estimate, EstimateLine, Job
from jobs.models.estimate import EstimateLineKind, EstimateState
from jobs.queries.estimates import drift_of, newest_given, versions_of, work_standing
from jobs.queries.papers_out import estimate_paper
from jobs.services import estimates
from shop import acts
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.letterhead_of import letterhead
from shop.models import Profile, Role
from shop.web.codes import qr_path
from shop.web.pages import answer_once, go, refuse, warn
from shop.web.pdf import pdf
from shop.web.press import press, seen_in

HEADS = ("radio__model", "customer")


def _page_of(estimate: Estimate) -> str:
    return reverse("jobs:estimate", args=[estimate.job_id])


def _load(pk: int) -> Estimate:
    return get_object_or_404(Estimate.objects.select_related("job__radio__model", "job__customer"), pk=pk)


@role_required(*EVERYBODY)
def estimate(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related(*HEADS), pk=pk)
    if request.method == "POST":
        return _draft(request, job)
    return _show(request, job)


def _show(request: HttpRequest, job: Job, form: LineForm | NoteForm | None = None) -> HttpResponse:
    versions = versions_of(job, now())
    profile = Profile.current()
    draft = next((one for one in versions if one.estimate.is_draft), None)
    given = newest_given(job)
    compared = draft.estimate if draft else given
    context = {
        "job": job,
        "versions": versions,
        "draft": draft,
        "drift": drift_of(compared, profile) if compared and profile else None,
        "compared": compared,
        "work": work_standing(draft.estimate) if draft else None,
        "line_forms": _line_forms(draft.estimate, form) if draft else [],
        "note_form": _note_form(draft.estimate, form) if draft else None,
        "may_edit": may(request.user, Role.COUNTER),
    }
    return render(request, "jobs/estimate.html", context, status=form.status if form else 200)


LINE_WORDS = {"time": "Add time", "task": "Add a flat task", "sum": "Add a fee, or a part that is not in stock"}


def _line_forms(draft: Estimate, bound: LineForm | NoteForm | None) -> list[tuple[LineForm, str]]:
    forms = []
    for what, words in LINE_WORDS.items():
        is_bound = isinstance(bound, LineForm) and bound.what == what
        forms.append((bound if is_bound and isinstance(bound, LineForm) else FORMS[what](estimate=draft), words))
    return forms


def _note_form(draft: Estimate, bound: LineForm | NoteForm | None) -> NoteForm:
    return bound if isinstance(bound, NoteForm) else NoteForm(initial={"note": draft.note, "seen": draft.version})


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
    shown = _load(pk)
    form = FORMS.get(request.POST.get("what", ""), FORMS["sum"])(request.POST, estimate=shown)
    return _save_line(request, shown, form, None) or _show(request, shown.job, form)


def _save_line(request: HttpRequest, shown: Estimate, form: LineForm, line: EstimateLine | None) -> HttpResponse | None:
    """Save a typed line; None where it was refused and the form has to be shown again."""
    if not form.is_valid():
        return None

    def work() -> str:
        # A new line meets no older one; a changed line must be the one that was seen.
        seen = form.cleaned_data["seen"] if line is not None else None
        estimates.add_line(shown, form.typed(), line=line, seen=seen)
        return _page_of(shown)

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
    if line.from_log or line.kind == EstimateLineKind.FLAT or not shown.is_draft:
        warn(request, _why_fixed(line))
        return go(request, _page_of(shown))
    kind = form_for(line)
    form = kind(request.POST, estimate=shown) if request.method == "POST" else kind(estimate=shown, initial=initial_of(line))
    saved = _save_line(request, shown, form, line) if request.method == "POST" else None
    return saved or render(
        request, "jobs/estimate_line.html", {"form": form, "line": line, "estimate": shown, "job": shown.job}, status=form.status
    )


def _why_fixed(line: EstimateLine) -> str:
    if not line.estimate.is_draft:
        return f"Version {line.estimate.number} was sent and is frozen. Draft a new version to change anything."
    if line.from_log:
        return estimates.FROM_LOG
    return "A flat task has a fixed price. Take the line away and add another one."


@role_required(Role.COUNTER)
@require_POST
def estimate_line_remove(request: HttpRequest, pk: int) -> HttpResponse:
    line = EstimateLine.objects.select_related("estimate__job").filter(pk=pk).first()
    if line is None:
        return _gone(request)
    said = f"The line “{line.text}” is off the draft."
    return press(request, "remove estimate line", lambda: estimates.remove_line(line), _page_of(line.estimate), said)


def _gone(request: HttpRequest) -> HttpResponse:
    warn(request, "That line was taken away already.")
    job = request.POST.get("job", "")
    return go(request, "jobs:estimate", int(job)) if job.isdecimal() and len(job) < 18 else go(request, "today")


@role_required(Role.COUNTER)
@require_POST
def estimate_redraw(request: HttpRequest, pk: int) -> HttpResponse:
    shown = _load(pk)
    return press(
        request, "redraw estimate", lambda: estimates.redraw(shown), _page_of(shown), "The draft says what the log says now."
    )


@role_required(Role.COUNTER)
@require_POST
def estimate_note(request: HttpRequest, pk: int) -> HttpResponse:
    shown = _load(pk)
    form = NoteForm(request.POST)
    if form.is_valid():
        try:
            where, done = acts.once(form.cleaned_data["once"], "estimate note", lambda: _note(shown, form))
            return answer_once(request, where, done, "The note is on the draft.")
        except Refused as refused:
            form.take_refusal(refused)
            shown.refresh_from_db()
            form.see(shown.version)
    return _show(request, shown.job, form)


def _note(shown: Estimate, form: NoteForm) -> str:
    estimates.set_note(shown, form.cleaned_data["note"], seen=form.cleaned_data["seen"])
    return _page_of(shown)


@role_required(Role.COUNTER)
@require_POST
def estimate_send(request: HttpRequest, pk: int) -> HttpResponse:
    shown, person, seen = _load(pk), staff_of(request), seen_in(request)
    said = f"Version {shown.number} is frozen. Give the customer its paper or a private link, or write their answer down."
    return press(
        request, "send estimate", lambda: estimates.send(shown, person=person, at=now(), seen=seen), _page_of(shown), said
    )


@role_required(Role.COUNTER)
@require_POST
def estimate_recall(request: HttpRequest, pk: int) -> HttpResponse:
    shown, person = _load(pk), staff_of(request)
    said = f"Version {shown.number} is taken back; its link leads nowhere any more."
    return press(request, "recall estimate", lambda: estimates.recall(shown, person=person, at=now()), _page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def estimate_link(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a private link and show it, this once: only its hash is kept, so the token must not go through the once-mark."""
    shown, person, made = _load(pk), staff_of(request), []

    def work() -> str:
        made.append(estimates.make_link(shown, person=person, at=now()))
        return _page_of(shown)

    try:
        where, _ = acts.once(request.POST.get("once"), "make link", work)
    except Refused as refused:
        return refuse(request, refused.message, back=_page_of(shown))
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


@role_required(*EVERYBODY)
def estimate_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The version as a PDF. Sent as a form with a link's token, the private link is printed on it."""
    shown = _load(pk)
    url = _link_on_paper(request, shown)
    profile = Profile.current()
    paper = estimate_paper(shown, letterhead(profile), agree_url=url)
    return pdf(draw(paper), f"estimate-{shown.job.number}-{shown.number}.pdf")


def _link_on_paper(request: HttpRequest, shown: Estimate) -> str:
    token = request.POST.get("token", "") if request.method == "POST" else ""
    known = shown.state == EstimateState.SENT and token
    hashed = estimates.token_hash(token) if known else ""
    if not shown.links.filter(token_hash=hashed, revoked_at__isnull=True).exists():  # type: ignore[attr-defined]
        return ""
    return request.build_absolute_uri(reverse("approve", args=[token]))
