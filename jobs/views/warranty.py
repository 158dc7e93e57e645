"""The warranty's page: what the shop stands by, line by line, until when."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from jobs.documents.warranty import HOW_TO_CLAIM
from jobs.models import HandOver, Job
from jobs.queries.warranty import cover_of
from jobs.queries.warranty_paper import given_terms, held_words, passed_on, void_rules_of
from shop.access import EVERYBODY, role_required
from shop.clock import today


@role_required(*EVERYBODY)
def warranty(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.select_related("radio__model", "customer"), pk=pk)
    cover = cover_of(job, today())
    context = {
        "job": job,
        "cover": cover,
        "handed": HandOver.objects.filter(job=job).select_related("person").first(),
        "how_to_claim": HOW_TO_CLAIM,
        **({"given": given_terms(cover.warranty), "void_rules": void_rules_of(cover.warranty)} if cover else {}),
        **({"passed_on": passed_on(cover.warranty), "held": held_words(cover.warranty)} if cover else {}),
    }
    return render(request, "jobs/warranty.html", context)
