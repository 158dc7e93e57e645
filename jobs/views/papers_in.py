"""The counter's papers as PDF: the claim check for the customer, the tag for the set."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from jobs.queries import drawn
from shop.access import EVERYBODY, role_required
from shop.web.pdf import answer_with, root_of


@role_required(*EVERYBODY)
def claim_check(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.claim_check(pk, root_of(request)), back=reverse("jobs:job", args=[pk]))


@role_required(*EVERYBODY)
def tag(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.tag(pk, root_of(request)), back=reverse("jobs:job", args=[pk]))
