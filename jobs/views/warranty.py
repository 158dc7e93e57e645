"""What a job leaves behind: the warranty's page and paper, and the job summary's paper."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.documents.summary import draw as draw_summary
from jobs.documents.warranty import HOW_TO_CLAIM, VOID_RULES
from jobs.documents.warranty import draw as draw_warranty
from jobs.models import HandOver, Job, Warranty
from jobs.queries.papers_out import summary_paper, warranty_paper
from jobs.queries.warranty import cover_of
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.web.pdf import pdf

HEADS = ("radio__model", "customer", "taken_in_by")


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.select_related(*HEADS), pk=pk)


def _signed_by(job: Job) -> str:
    done = HandOver.objects.filter(job=job).select_related("person").first()
    return str(done.person) if done else ""


@role_required(*EVERYBODY)
def warranty(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    context = {
        "job": job,
        "cover": cover_of(job, today()),
        "handed": HandOver.objects.filter(job=job).select_related("person").first(),
        "void_rules": VOID_RULES,
        "how_to_claim": HOW_TO_CLAIM,
    }
    return render(request, "jobs/warranty.html", context)


@role_required(*EVERYBODY)
def warranty_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    found = Warranty.objects.select_related("job__radio__model", "job__customer").filter(job_id=pk).first()
    if found is None:
        raise Http404("The warranty starts when the set is handed over.")
    url = request.build_absolute_uri(reverse("jobs:job", args=[pk]))
    paper = warranty_paper(found, letterhead(), job_url=url, signed_by=_signed_by(found.job))
    return pdf(draw_warranty(paper), f"warranty-{found.job.number}.pdf")


@role_required(*EVERYBODY)
def summary_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    paper = summary_paper(job, letterhead(), written_on=today(), signed_by=_signed_by(job))
    return pdf(draw_summary(paper), f"job-summary-{job.number}.pdf")
