"""The papers an owner keeps: job summary and warranty. They name the invoice, so they are given out here, above the jobs."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from billing.papers import keepsake_facts
from jobs.documents.summary import draw as draw_summary
from jobs.documents.warranty import draw as draw_warranty
from jobs.models import Job, Warranty
from jobs.queries.papers_out import summary_paper, warranty_paper
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.web.pdf import pdf


@role_required(*EVERYBODY)
def summary_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related("radio__model", "customer", "taken_in_by"), pk=pk)
    paper = summary_paper(job, letterhead(), written_on=today(), **keepsake_facts(job))
    return pdf(draw_summary(paper), f"job-summary-{job.number}.pdf")


@role_required(*EVERYBODY)
def warranty_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    found = Warranty.objects.select_related("job__radio__model", "job__customer").filter(job_id=pk).first()
    if found is None:
        raise Http404("The warranty starts when the set is handed over.")
    address = request.build_absolute_uri(reverse("jobs:job", args=[pk]))
    paper = warranty_paper(found, letterhead(), job_url=address, **keepsake_facts(found.job))
    return pdf(draw_warranty(paper), f"warranty-{found.job.number}.pdf")
