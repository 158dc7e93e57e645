"""Papers of a job as finished files, by primary key: for a page and for many at a time.

Each raises the model's DoesNotExist. `root` is the shop's own address without a stroke at its end (`https://shop.example`):
papers carry a code that opens their job.
"""

from datetime import date

from django.urls import reverse

from jobs.documents import claim_check as claim_check_paper
from jobs.documents import claim_verdict as verdict_paper
from jobs.documents import estimate as estimate_document
from jobs.documents import model_history as model_history_document
from jobs.documents import put_back as put_back_document
from jobs.documents import safety_sheet as safety_document
from jobs.documents import tag as tag_paper
from jobs.models import ClaimDecision, Estimate, Job, RadioModel, SafetyCheck
from jobs.queries.claim_paper import claim_verdict as claim_verdict_paper
from jobs.queries.estimate_paper import estimate_paper
from jobs.queries.model_history_paper import model_history_paper
from jobs.queries.papers_in import claim_check_of, tag_of
from jobs.queries.putting_back import closing_paper as closing_paper_of
from jobs.queries.putting_back import put_back_list as put_back_list_of
from jobs.queries.safety_paper import safety_paper
from shop.letterhead_of import letterhead
from shop.paper.drawn import Drawn


def _job(pk: int) -> Job:
    return Job.objects.with_heads().get(pk=pk)


def job_address(root: str, pk: int) -> str:
    return root + reverse("jobs:job", args=[pk])


def claim_check(pk: int, root: str) -> Drawn:
    job = _job(pk)
    return Drawn(f"claim-check-{job.number}.pdf", claim_check_paper.draw(claim_check_of(job, job_address(root, pk))))


def tag(pk: int, root: str) -> Drawn:
    job = _job(pk)
    return Drawn(f"tag-{job.number}.pdf", tag_paper.draw(tag_of(job, job_address(root, pk))))


def estimate(pk: int, agree_url: str = "") -> Drawn:
    """One version of an estimate. `agree_url` is known only while a private link is made."""
    shown = Estimate.objects.select_related("job__customer", "job__radio__model", "made_by").get(pk=pk)
    paper = estimate_paper(shown, letterhead(), agree_url=agree_url)
    return Drawn(f"estimate-{shown.job.number}-{shown.number}.pdf", estimate_document.draw(paper))


def safety_sheet(job_pk: int, check_pk: int | None = None, *, blank: bool = False) -> Drawn:
    """The safety sheet of a job with the check named, else its newest; with lines to fill in where there is none, or `blank`."""
    job = _job(job_pk)
    checks = SafetyCheck.objects.filter(job=job).select_related("person").order_by("-pk")
    check = checks.get(pk=check_pk) if check_pk else None if blank else checks.first()
    return Drawn(f"safety-{job.number}.pdf", safety_document.draw(safety_paper(job, check, letterhead())))


def model_history(pk: int, on: date) -> Drawn:
    model = RadioModel.objects.get(pk=pk)
    paper = model_history_paper(model, letterhead(), on)
    return Drawn(f"history-{model.key.replace(' ', '-')[:60]}.pdf", model_history_document.draw(paper))


def claim_verdict(job_pk: int) -> Drawn:
    """The newest decision on the claim that a job is."""
    heads = ("claim__job__customer", "claim__job__radio__model", "claim__warranty__job", "person")
    decision = ClaimDecision.objects.select_related(*heads).filter(claim__job=job_pk).order_by("-pk").first()
    if decision is None:
        raise ClaimDecision.DoesNotExist
    paper = claim_verdict_paper(decision, letterhead())
    return Drawn(f"claim-{paper.job_number}.pdf", verdict_paper.draw(paper))


def put_back_list(pk: int, on: date) -> Drawn:
    """The bench's list for putting a declined set back."""
    job = _job(pk)
    paper = put_back_list_of(job, letterhead(), written_on=on)
    return Drawn(f"put-back-{job.number}.pdf", put_back_document.draw_list(paper))


def closing_paper(pk: int, on: date) -> Drawn:
    """What the owner of a declined set is told when it goes back."""
    job = _job(pk)
    paper = closing_paper_of(job, letterhead(), written_on=on)
    return Drawn(f"closing-{job.number}.pdf", put_back_document.draw_closing(paper))
