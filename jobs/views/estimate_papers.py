"""An estimate as its customer gets it: as PDF, and the same as a web page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from jobs.documents.estimate import CHOOSE, agreeing_words, ceiling_words, revision_words, signing, sum_rows
from jobs.documents.estimate_data import EstimatePaper
from jobs.models import Estimate
from jobs.models.estimate import EstimateState
from jobs.queries import drawn
from jobs.queries.estimate_paper import estimate_paper
from jobs.queries.estimates import link_for
from jobs.views.estimates import load_estimate, page_of
from shop.access import EVERYBODY, role_required
from shop.clock import now
from shop.letterhead_of import letterhead
from shop.web.pdf import Way, answer_with, look_at

# What the paper waits for; other states wait for nothing.
NEXT: dict[str, str] = {
    EstimateState.DRAFT: "Freeze it for the customer",
    EstimateState.SENT: "Send it, or write the answer down",
}


@role_required(*EVERYBODY)
def estimate_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The version as a PDF. Sent as a form with a link's token, the private link is printed on it."""
    shown = load_estimate(pk)
    url = _link_on_paper(request, shown)
    return answer_with(lambda: drawn.estimate(pk, agree_url=url), back=page_of(shown), ways=_ways_on(shown))


def _link_on_paper(request: HttpRequest, shown: Estimate) -> str:
    token = request.POST.get("token", "") if request.method == "POST" else ""
    link = link_for(token, now())
    if link is None or link.estimate_id != shown.pk or shown.state != EstimateState.SENT:
        return ""
    return request.build_absolute_uri(reverse("approve", args=[token]))


def _ways_on(shown: Estimate) -> list[Way]:
    act = [Way(NEXT[shown.state], page_of(shown), is_main=True)] if shown.state in NEXT else []
    return [*act, Way("The same as a page", reverse("jobs:estimate_page", args=[shown.pk]))]


@role_required(*EVERYBODY)
def estimate_page(request: HttpRequest, pk: int) -> HttpResponse:
    """For those who listen to it, read it on a telephone, or print it from there. It never carries a private link."""
    shown = load_estimate(pk)
    paper = estimate_paper(shown, letterhead())
    ways = {"pdf": look_at(reverse("jobs:estimate_pdf", args=[pk])), "back": page_of(shown)}
    return render(request, "jobs/estimate_page.html", {"paper": paper, **page_parts(paper), **ways})


def page_parts(paper: EstimatePaper) -> dict[str, object]:
    """What the page says in the paper's own order and words."""
    work = [line for kind in ("labour", "flat", "fee") for line in paper.lines if line.kind == kind]
    return {
        "parts": [line for line in paper.lines if line.kind == "part"],
        "work": work,
        "sums": sum_rows(paper),
        "ceiling": ceiling_words(paper),
        "choose": CHOOSE,
        "agreeing": agreeing_words(paper),
        "sign": signing(paper),
        "changed": revision_words(paper),
    }
