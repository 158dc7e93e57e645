"""One set that nobody collects: its clock, notices with their proof, disputes, and what speaks against selling it."""

from collections.abc import Callable
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing.forms import DisputeForm, ServiceForm
from billing.models import UncollectedSale
from billing.queries.sales import unsettled_for_sale
from billing.views.uncollected import owed_minor
from jobs.models import CollectionNotice, Job, ServiceKind
from jobs.queries.collection import DEFER, Clock, clock_of, sent_of, uncollected
from jobs.services.collection import record_dispute, record_service
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.jurisdictions.codes import SALE_WAYS
from shop.jurisdictions.rules import Rules
from shop.models import Profile, Role
from shop.place import rules_of
from shop.web.forms import SeenForm
from shop.web.pages import answer_once, go, refuse


def clock_here(pk: int) -> tuple[Clock | None, Rules]:
    """The clock of a set that waits to be collected; None where it doesn't wait."""
    rules, job = rules_of(Profile.current()), uncollected().filter(pk=pk).first()
    return (clock_of(job, rules.uncollected, today()) if job else None), rules


def not_waiting(request: HttpRequest, job: Job) -> HttpResponse:
    sale = UncollectedSale.objects.filter(job=job).first()
    back = reverse("billing:sale", args=[sale.pk]) if sale else reverse("billing:uncollected")
    said = "was sold" if sale else "doesn't wait to be collected"
    return refuse(request, f"The set of job {job.number} {said}, so nothing is written down about it here.", back=back)


@role_required(Role.COUNTER)
def collecting(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    clock, rules = clock_here(pk)
    if clock is None:
        sold = UncollectedSale.objects.filter(job=job).first()
        return go(request, "billing:sale", sold.pk) if sold else not_waiting(request, job)
    context = {
        "job": job,
        "clock": clock,
        "rules": rules,
        "rule": rules.uncollected,
        "way": SALE_WAYS[rules.uncollected.sale.way],
        "notices": [(one, sent_of(one), list(one.service.all())) for one in reversed(clock.notices)],  # type: ignore[attr-defined]
        "disputes": list(clock.job.dispute_steps.all()),  # type: ignore[attr-defined]
        "against": clock.against(),
        "unsettled": unsettled_for_sale(job),
        "owed": owed_minor([job]).get(pk),
        "defer": DEFER,
    }
    return render(request, "billing/collecting.html", context)


@role_required(Role.COUNTER)
def notice_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """What proves that a notice went out or arrived, or that it came back."""
    heads = ("job__radio__model", "job__customer")
    notice = get_object_or_404(CollectionNotice.objects.select_related(*heads), pk=pk)
    job, count = notice.job, notice.service.count()  # type: ignore[attr-defined]
    if not job.is_open and request.method != "POST":
        return not_waiting(request, job)
    start = {"on": notice.sent_on, "kind": ServiceKind.POSTED, "seen": count}
    form = ServiceForm(request.POST or None, initial=start)

    def work(kind: str, on: date, proof: str, seen: int) -> None:
        record_service(notice, kind, on, proof, person=staff_of(request), at=now(), seen=seen)

    said = f"How the notice of job {job.number} went is written down."
    answer = written(request, job, form, "prove notice", work, said) if form.is_valid() else None
    rules = rules_of(Profile.current())
    context = {"form": form, "job": job, "notice": notice, "rules": rules, "rule": rules.uncollected}
    context["proofs"] = notice.service.select_related("person")  # type: ignore[attr-defined]
    return answer or render(request, "billing/notice_proof.html", context, status=form.status)


@role_required(Role.COUNTER)
def dispute(request: HttpRequest, pk: int) -> HttpResponse:
    """Opens a dispute, or settles the one that is open."""
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    if not job.is_open and request.method != "POST":
        return not_waiting(request, job)
    steps = list(job.dispute_steps.select_related("person"))  # type: ignore[attr-defined]
    opens = not (steps and steps[-1].opens)
    form = DisputeForm(request.POST or None, opens=opens, initial={"on": today(), "seen": len(steps)})

    def work(text: str, on: date, seen: int) -> None:
        record_dispute(job, opens, text, on, person=staff_of(request), at=now(), seen=seen)

    said = f"Job {job.number} is disputed: the clock stands." if opens else f"The dispute about job {job.number} is settled."
    answer = written(request, job, form, "dispute", work, said) if form.is_valid() else None
    rules = rules_of(Profile.current())
    context = {"form": form, "job": job, "steps": steps, "opens": opens, "rules": rules, "rule": rules.uncollected}
    return answer or render(request, "billing/dispute.html", context, status=form.status)


def written(
    request: HttpRequest, job: Job, form: SeenForm, act: str, work: Callable[..., None], said: str
) -> HttpResponse | None:
    """Do `work` once with what was typed and go to the set's page; a refusal goes into the form and gives None."""
    data = {name: value for name, value in form.cleaned_data.items() if name != "once"}

    def answer() -> str:
        work(**data)
        waits = uncollected().filter(pk=job.pk).exists()
        return reverse("billing:collecting" if waits else "jobs:job", args=[job.pk])

    try:
        where, done = acts.once(form.cleaned_data["once"], act, answer)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(form.cleaned_data["seen"] + 1)
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, said)
