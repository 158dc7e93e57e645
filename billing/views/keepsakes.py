"""The papers an owner keeps: job summary and warranty. They name the invoice, so they are given out here, above the jobs."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing import drawn
from billing.papers import keepsake_facts
from jobs.documents.summary import JobSummary
from jobs.documents.warranty import WarrantyLinePaper, WarrantyPaper
from jobs.models import Job, Warranty
from jobs.queries.papers_out import summary_paper
from jobs.queries.warranty_paper import warranty_paper
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.web.pdf import Way, answer_with, look_at, root_of


def _summary(pk: int) -> JobSummary:
    job = get_object_or_404(Job.objects.select_related("radio__model", "customer", "taken_in_by"), pk=pk)
    return summary_paper(job, letterhead(), written_on=today(), **keepsake_facts(job))


def _warranty(request: HttpRequest, pk: int) -> WarrantyPaper:
    found = Warranty.objects.select_related("job__radio__model", "job__customer").filter(job_id=pk).first()
    if found is None:
        raise Http404("The warranty starts when the set is handed over.")
    address = request.build_absolute_uri(reverse("jobs:job", args=[pk]))
    return warranty_paper(found, letterhead(), job_url=address, **keepsake_facts(found.job))


@role_required(*EVERYBODY)
def summary_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    ways = [Way("The same as a page", reverse("billing:summary_page", args=[pk]))]
    return answer_with(lambda: drawn.summary(pk, written_on=today()), back=reverse("jobs:job", args=[pk]), ways=ways)


@role_required(*EVERYBODY)
def summary_page(request: HttpRequest, pk: int) -> HttpResponse:
    ways = {"pdf": look_at(reverse("billing:summary_pdf", args=[pk])), "back": reverse("jobs:job", args=[pk])}
    return render(request, "jobs/summary_page.html", {"paper": _summary(pk), **ways})


@role_required(*EVERYBODY)
def warranty_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    ways = [Way("The same as a page", reverse("billing:warranty_page", args=[pk]))]
    return answer_with(lambda: drawn.warranty(pk, root_of(request)), back=reverse("jobs:warranty", args=[pk]), ways=ways)


def cover_of(paper: WarrantyPaper) -> dict[str, list[WarrantyLinePaper]]:
    return {
        "covered": [line for line in paper.lines if line.until_on],
        "uncovered": [line for line in paper.lines if not line.until_on],
    }


@role_required(*EVERYBODY)
def warranty_page(request: HttpRequest, pk: int) -> HttpResponse:
    paper = _warranty(request, pk)
    ways = {"pdf": look_at(reverse("billing:warranty_pdf", args=[pk])), "back": reverse("jobs:warranty", args=[pk])}
    return render(request, "jobs/warranty_page.html", {"paper": paper, **cover_of(paper), **ways})
