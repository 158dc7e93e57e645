"""The warranty's page: what the shop stands by, line by line, until when."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from jobs.documents.warranty import HOW_TO_CLAIM, VOID_RULES
from jobs.models import HandOver, Job
from jobs.queries.warranty import cover_of
from shop.access import EVERYBODY, role_required
from shop.clock import today


@role_required(*EVERYBODY)
def warranty(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related("radio__model", "customer"), pk=pk)
    context = {
        "job": job,
        "cover": cover_of(job, today()),
        "handed": HandOver.objects.filter(job=job).select_related("person").first(),
        "void_rules": VOID_RULES,
        "how_to_claim": HOW_TO_CLAIM,
    }
    return render(request, "jobs/warranty.html", context)
