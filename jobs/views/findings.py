"""A revision from a finding: the draft it starts, the findings a version names, the reason in words."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.estimates import BecauseForm, FindingForm
from jobs.models import LogEntry
from jobs.queries.evidence import findings_in
from jobs.services import estimates
from jobs.views.estimates import edit_draft, load_estimate, page_of
from shop.access import role_required, staff_of
from shop.clock import now
from shop.models import Role
from shop.web.press import press, seen_in


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def finding_draft(request: HttpRequest, pk: int) -> HttpResponse:
    """Who found it may draft it; pricing it and sending it out stay with the counter."""
    entry = get_object_or_404(LogEntry.objects.select_related("job", "position"), pk=pk)
    job, person = entry.job, staff_of(request)
    said = "A version is drafted with this finding as its reason. Decide what is replaced, look the lines over, and send it."
    return press(
        request,
        "draft from finding",
        lambda: estimates.draft_from(job, entry, person=person, at=now()),
        reverse("jobs:estimate", args=[job.pk]),
        said,
    )


@role_required(Role.COUNTER)
@require_POST
def finding_add(request: HttpRequest, pk: int) -> HttpResponse:
    shown = load_estimate(pk)
    # All of them: one that is named by now is told so, and the same form sent twice is known again.
    form = FindingForm(request.POST, findings=findings_in(shown.job))

    def work() -> None:
        entry = LogEntry.objects.select_related("position").get(pk=form.cleaned_data["entry"])
        estimates.add_finding(shown, entry, seen=form.cleaned_data["seen"])

    return edit_draft(request, shown, form, "add finding", work, "The finding is named, with the photos of its position.")


@role_required(Role.COUNTER)
@require_POST
def finding_remove(request: HttpRequest, pk: int) -> HttpResponse:
    shown, seen, number = load_estimate(pk), seen_in(request), request.POST.get("entry", "")
    known = number if number.isdecimal() and len(number) < 19 else 0
    entry = get_object_or_404(LogEntry.objects.select_related("position"), pk=known, job=shown.job_id)
    said = f"Entry no. {entry.seq} is no longer a reason of this version."
    return press(request, "remove finding", lambda: estimates.remove_finding(shown, entry, seen=seen), page_of(shown), said)


@role_required(Role.COUNTER)
@require_POST
def estimate_because(request: HttpRequest, pk: int) -> HttpResponse:
    shown, form = load_estimate(pk), BecauseForm(request.POST)

    def work() -> None:
        estimates.set_because(shown, form.cleaned_data["because"], seen=form.cleaned_data["seen"])

    return edit_draft(request, shown, form, "estimate because", work, "The reason is on the draft.")
