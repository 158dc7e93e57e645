"""The safety sheet of a job: as PDF, as a page, and with lines to fill in by hand."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.documents.safety_sheet import (
    CODES_WORDS,
    FAILED_WORDS,
    NO_LOOK_WORDS,
    NO_PLACE_WORDS,
    NO_POINT_WORDS,
    NOT_MADE_WORDS,
    OVERRIDE_WORDS,
    PASSED_WORDS,
    UNSAFE_WORDS,
    VOID_WORDS,
    SafetySheet,
    result_words,
)
from jobs.models import SafetyCheck
from jobs.queries import drawn
from jobs.queries.safety_paper import safety_paper
from jobs.views.job_frame import load_job
from shop.access import EVERYBODY, role_required
from shop.letterhead_of import letterhead
from shop.web.pdf import Way, answer_with, look_at

WORDS = {
    "passed": PASSED_WORDS,
    "failed": FAILED_WORDS,
    "void": VOID_WORDS,
    "codes": CODES_WORDS,
    "not_made": NOT_MADE_WORDS,
    "no_place": NO_PLACE_WORDS,
    "no_look": NO_LOOK_WORDS,
    "no_point": NO_POINT_WORDS,
    "overrides": OVERRIDE_WORDS,
    "unsafe": UNSAFE_WORDS,
}


def page_words(paper: SafetySheet) -> dict[str, object]:
    """What the page says in the paper's own words."""
    return {"words": WORDS, "result": result_words(paper)}


def _back(pk: int) -> str:
    return reverse("jobs:safety", args=[pk])


@role_required(*EVERYBODY)
def safety_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet with one check, also an earlier one."""
    check = get_object_or_404(SafetyCheck, pk=pk)
    return answer_with(lambda: drawn.safety_sheet(check.job_id, pk), back=_back(check.job_id))


@role_required(*EVERYBODY)
def job_safety_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet with the newest check; without one, or asked for `?blank=yes`, with lines to fill in by hand."""
    blank, page = request.GET.get("blank") == "yes", reverse("jobs:safety_page", args=[pk])
    ways = [] if blank else [Way("The same as a page", page)]
    return answer_with(lambda: drawn.safety_sheet(pk, blank=blank), back=_back(pk), ways=ways)


@role_required(*EVERYBODY)
def safety_page(request: HttpRequest, pk: int) -> HttpResponse:
    job = load_job(pk)
    check = job.safety_checks.select_related("person").order_by("-pk").first()
    paper = safety_paper(job, check, letterhead())
    ways = {"pdf": look_at(reverse("jobs:job_safety_sheet", args=[pk])), "back": _back(pk)}
    return render(request, "jobs/safety_page.html", {"paper": paper, **page_words(paper), **ways})
