"""The counter's papers as PDF: the claim check for the customer, the tag for the set."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobs.documents import claim_check as claim_check_paper
from jobs.documents import tag as tag_paper
from jobs.models import Job
from jobs.queries.papers_in import claim_check_of, tag_of
from shop.access import EVERYBODY, role_required


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.with_heads(), pk=pk)


def _address(request: HttpRequest, job: Job) -> str:
    return request.build_absolute_uri(reverse("jobs:job", args=[job.pk]))


def pdf_answer(content: bytes, filename: str) -> HttpResponse:
    """Shown in the browser; saved under a name that says what it is. The name is ASCII by its making."""
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{filename}"', "Cache-Control": "private, no-store"},
    )


@role_required(*EVERYBODY)
def claim_check(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    return pdf_answer(claim_check_paper.draw(claim_check_of(job, _address(request, job))), f"claim-check-{job.number}.pdf")


@role_required(*EVERYBODY)
def tag(request: HttpRequest, pk: int) -> HttpResponse:
    job = _job(pk)
    return pdf_answer(tag_paper.draw(tag_of(job, _address(request, job))), f"tag-{job.number}.pdf")
