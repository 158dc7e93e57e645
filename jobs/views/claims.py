"""A set that came back: its claim, what was found on it, the proposal with its reasons, the decision."""

from dataclasses import replace

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.claims import DecideForm, FindingForm, OpenClaimForm, finding_values
from jobs.models import Claim, ClaimAnswer, ClaimFinding, Job
from jobs.queries.borne import BORNE_BY_US, borne_on
from jobs.queries.claim_page import ClaimPage, Found, claim_page
from jobs.queries.claims import claim_on, decisions_of, judged, warranties_for
from jobs.queries.sheet import PositionState, Sheet, sheet_of
from jobs.services import claim_decisions
from jobs.services import claims as service
from jobs.services.stages import next_acts
from jobs.views.job_frame import Link, carry_out, frame, links, load_job, press
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Stale
from shop.clock import now, today
from shop.models import Role
from shop.web.pages import Undo, answer_once, go, tell

AT_WORK = (Role.COUNTER, Role.BENCH)


@role_required(*EVERYBODY)
def claim(request: HttpRequest, pk: int) -> HttpResponse:
    return show_claim(request, load_job(pk))


def show_claim(
    request: HttpRequest,
    job: Job,
    *,
    opening: OpenClaimForm | None = None,
    finding: FindingForm | None = None,
    deciding: DecideForm | None = None,
) -> HttpResponse:
    """The claim's page; a refused form stands in its place with everything typed."""
    current = claim_on(job)
    if current is None:
        return _no_claim(request, job, opening, finding or deciding)
    sheet = sheet_of(job)
    page = _with_ways(request, claim_page(judged(current, now())))
    may_act = may(request.user, *AT_WORK) and job.is_open
    decisions = decisions_of(current)
    if deciding is not None:
        deciding.see(current.version)
    context = frame(request, job, sheet) | {
        "claim": current,
        "page": page,
        "may_act": may_act,
        "may_drop": may_act and not decisions and not page.found,
        "finding_form": finding or FindingForm(claim=current, sheet=sheet, auto_id="finding_%s"),
        "decide_form": deciding or _fresh_decision(page),
        "decisions": decisions,
        "proposed_label": ClaimAnswer(page.judged.proposal.answer).label,
        "cover": next((one for one in next_acts(job) if one.act.code == "cover"), None),
        "stray": opening,
        "fitted_before": _fitted_before(job, sheet),
    }
    refused = next((form for form in (opening, finding, deciding) if form is not None), None)
    return render(request, "jobs/claim.html", context, status=refused.status if refused else 200)


def _fresh_decision(page: ClaimPage) -> DecideForm:
    """Nothing is chosen beforehand while something is open."""
    proposal = page.judged.proposal
    values = {"seen": page.judged.claim.version, "answer": "" if proposal.is_open else proposal.answer}
    return DecideForm(judged=page.judged, initial=values, auto_id="decide_%s")


def _fitted_before(job: Job, sheet: Sheet) -> list[PositionState]:
    """Covered places whose part was fitted before that was decided, and is charged."""
    borne = borne_on(job)
    charged = [row for row in sheet.rows if any(fit.charged and BORNE_BY_US not in fit.price_reason for fit in row.fitted)]
    return [row for row in charged if borne.at(row.position)]


def _with_ways(request: HttpRequest, page: ClaimPage) -> ClaimPage:
    number = page.judged.claim.job.number
    return replace(page, found=[replace(one, ways=_ways(request, one, number)) for one in page.found])


def _ways(request: HttpRequest, one: Found, number: str) -> list[Link]:
    """The lot of the part that failed, and the way to claim it back from its supplier."""
    if one.lot is None:
        return []
    here = links(request, (("The lot it came from", "inventory:lot"),), one.lot.pk)
    if one.lot.supplier_id is None:
        return here
    wanted = (("Claim it back from the supplier", "inventory:supplier_claim_new"),)
    return here + [Link(way.label, f"{way.url}?count=1&job={number}") for way in links(request, wanted, one.lot.pk)]


def _no_claim(request: HttpRequest, job: Job, opening: OpenClaimForm | None, stray: object) -> HttpResponse:
    """The set may have come back without anybody saying so at the counter."""
    warranties = list(warranties_for(job))
    form = opening or OpenClaimForm(warranties=warranties, initial={"claimed_on": today()}, auto_id="open_%s")
    context = frame(request, job) | {
        "form": form,
        "warranties": warranties,
        "may_act": may(request.user, *AT_WORK) and job.is_open,
        "stray": stray,
    }
    refused = form if opening else stray
    return render(request, "jobs/claim_open.html", context, status=getattr(refused, "status", 200))


def _load_claim(job: Job) -> Claim:
    found = claim_on(job)
    if found is None:
        raise Stale(f"Job {job.number} isn't a claim any more. Load the page again.")
    return found


@role_required(*AT_WORK)
@require_POST
def claim_open(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    form = OpenClaimForm(request.POST, warranties=list(warranties_for(job)), auto_id="open_%s")

    def work() -> str:
        on = form.cleaned_data["claimed_on"]
        service.open_claim(job, form.earlier(), claimed_on=on, person=staff_of(request), at=now())
        return reverse("jobs:claim", args=[pk])

    done = carry_out(form, "open claim", work) if form.is_valid() else None
    if done is None:
        return show_claim(request, job, opening=form)
    undo = Undo(reverse("jobs:claim_drop", args=[pk]), "It is no claim")
    return answer_once(
        request, *done, said=f"Job {job.number} is a claim. Inspect the set, then write down what is found.", undo=undo
    )


@role_required(*AT_WORK)
@require_POST
def claim_drop(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    if press(request, "drop claim", lambda: service.drop_claim(_load_claim(job))):
        tell(request, f"Job {job.number} is no claim; it goes the ordinary way.")
    return go(request, "jobs:claim", pk)


def _finding_form(job: Job, current: Claim, data: object = None, **more: object) -> FindingForm:
    return FindingForm(data, claim=current, sheet=sheet_of(job), auto_id="finding_%s", **more)  # type: ignore[arg-type]


@role_required(*AT_WORK)
@require_POST
def claim_finding_add(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    current = claim_on(job)
    if current is None:
        return show_claim(request, job)
    form, made = _finding_form(job, current, request.POST), list[ClaimFinding]()

    def work() -> str:
        made.append(service.add_finding(current, form.facts(), person=staff_of(request), at=now()))
        return reverse("jobs:claim", args=[pk]) + "#proposal"

    done = carry_out(form, "claim finding", work) if form.is_valid() else None
    if done is None:
        return show_claim(request, job, finding=form)
    undo = Undo(reverse("jobs:claim_finding_withdraw", args=[made[0].pk]), "Take it back") if made else None
    return answer_once(request, *done, said="The finding is written down, and the proposal is drawn anew.", undo=undo)


def _load_finding(pk: int) -> ClaimFinding:
    return get_object_or_404(ClaimFinding.objects.select_related("claim__warranty"), pk=pk)


@role_required(*AT_WORK)
def claim_finding_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """A new row in place of one that was wrong; the old one stays readable."""
    finding = _load_finding(pk)
    job = load_job(finding.claim.job_id)
    form = _finding_form(job, finding.claim, request.POST or None, initial=finding_values(finding))

    def work() -> str:
        service.add_finding(finding.claim, form.facts(), person=staff_of(request), at=now(), corrects=finding)
        return reverse("jobs:claim", args=[job.pk]) + "#proposal"

    done = carry_out(form, "correct claim finding", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The finding is corrected; the old one stays readable.")
    context = frame(request, job) | {"finding": finding, "form": form}
    return render(request, "jobs/claim_finding.html", context, status=form.status)


@role_required(*AT_WORK)
@require_POST
def claim_finding_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    finding, person = _load_finding(pk), staff_of(request)
    if press(request, "withdraw claim finding", lambda: service.withdraw_finding(finding, person=person, at=now())):
        tell(request, "The finding is taken back; it stays readable and counts nothing.")
    return go(request, "jobs:claim", finding.claim.job_id)


@role_required(*AT_WORK)
@require_POST
def claim_decide(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    current = claim_on(job)
    if current is None:
        return show_claim(request, job)
    form = DecideForm(request.POST, judged=judged(current, now()), auto_id="decide_%s")

    def work() -> str:
        claim_decisions.decide(current, form.decided(), person=staff_of(request), at=now(), seen=form.cleaned_data["seen"])
        return reverse("jobs:claim", args=[pk]) + "#decisions"

    done = carry_out(form, "decide claim", work) if form.is_valid() else None
    if done is None:
        return show_claim(request, job, deciding=form)
    return answer_once(request, *done, said="It is decided. What is planned at covered places is priced anew in the log.")
