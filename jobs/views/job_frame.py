"""What every page of a job shares: its head, its guard, the person's running clock, and doing an act once."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.urls import NoReverseMatch, resolve, reverse

from jobs.models import ClaimAnswer, Job
from jobs.queries.alternatives import agreed_name
from jobs.queries.borne import newest_decision
from jobs.queries.exposure import exposure_of
from jobs.queries.jobs import running_clock, stage_line
from jobs.queries.sheet import Sheet, sheet_of
from shop import acts
from shop.access import may, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.models import Role
from shop.web.context import shop_profile
from shop.web.forms import TradeForm
from shop.web.pages import warn


def load_job(pk: int) -> Job:
    return get_object_or_404(Job.objects.with_heads(), pk=pk)


def frame(request: HttpRequest, job: Job, sheet: Sheet | None = None) -> dict[str, object]:
    """Context of `_job_head.html`. The guard is drawn from the log each time; it is never a stored sum."""
    terms = shop_profile(request)
    sheet = sheet or sheet_of(job)
    guard = exposure_of(job, terms, sheet) if terms else None
    beyond = guard.beyond if guard else frozenset()
    clock = running_clock(staff_of(request))
    return {
        "job": job,
        "sheet": sheet,
        "stages": stage_line(job),
        "unpriced": [row for row in sheet.rows if row.to_fit and not row.has_price and row.position.pk not in beyond],
        "guard": guard,
        "agreed_to": agreed_name(guard.consent) if guard else "",
        "not_agreed": [row for row in sheet.rows if row.to_fit and row.position.pk in beyond],
        "clock": clock,
        "clock_minutes": max(int((now() - clock.started_at).total_seconds() // 60), 0) if clock else 0,
        "is_late": job.is_open and job.promised_on is not None and job.promised_on < today(),
        "at_bench": may(request.user, Role.BENCH) and job.is_open,
        "claim_state": claim_state(job),
    }


CLAIM_MARKS = {ClaimAnswer.COVERED: "yes", ClaimAnswer.PARTLY: "warn", ClaimAnswer.CHARGEABLE: "no"}


def claim_state(job: Job) -> tuple[str, str] | None:
    """(mark, word) of a job that is a claim; no query for one that isn't."""
    if job.warranty_of_id is None:
        return None
    decided = newest_decision(job)
    if decided is None:
        return "open", "claim, not decided"
    return CLAIM_MARKS[ClaimAnswer(decided.decided)], f"claim: {decided.get_decided_display().lower()}"


@dataclass(frozen=True, slots=True)
class Link:
    label: str
    url: str


def links(request: HttpRequest, wanted: Iterable[tuple[str, str]], *args: object) -> list[Link]:
    """(label, URL name) pairs as links, without those that don't exist here or that the person may not open."""
    found = []
    for label, name in wanted:
        try:
            address = reverse(name, args=args)
        except NoReverseMatch:
            continue
        roles = getattr(resolve(address).func, "roles", None)
        if roles is None or may(request.user, *roles):
            found.append(Link(label, address))
    return found


def carry_out(form: TradeForm, act: str, work: Callable[[], str]) -> tuple[str, bool] | None:
    """Do the act once. A refusal goes into the form, where everything typed stays, and gives None."""
    try:
        return acts.once(form.cleaned_data["once"], act, work)
    except Refused as refused:
        form.take_refusal(refused)
        return None


def press(request: HttpRequest, act: str, work: Callable[[], object]) -> bool:
    """Do the act of a button that has no form to show again; a refusal is said on the next page. True where it was done now."""
    try:
        _, done = acts.once(request.POST.get("once"), act, lambda: str(work() or ""))
    except Refused as refused:
        warn(request, refused.message)
        return False
    return done
