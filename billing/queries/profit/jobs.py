"""The profit of jobs: one, or all of them in as many queries however many there are."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Q

from billing.models import Invoice, PaperKind
from billing.queries.newest import between
from billing.queries.profit import reading
from billing.queries.profit.figures import Borne, JobProfit, Summed, summed
from inventory.queries.supplier_claims import credited_minor_of_jobs
from jobs.models import Job, RadioSet
from jobs.queries.jobs import customers_with, models_called, numbered_with
from shop.models import Profile
from shop.search_text import fold

BILLED, NONE_BILLED, LOST, CAME_BACK, EVERY = "billed", "none", "lost", "back", "all"
SHOWN = (
    (BILLED, "billed"),
    (NONE_BILLED, "not billed yet"),
    (LOST, "earned less than nothing"),
    (CAME_BACK, "came back, or are what came back"),
    (EVERY, "every job"),
)


@dataclass(frozen=True)
class ProfitList:
    jobs: Sequence[JobProfit]
    currency: str
    hour_cost_minor: int

    @property
    def total(self) -> Summed:
        return summed(self.jobs)

    @property
    def elsewhere(self) -> int:
        return sum(one.elsewhere for one in self.jobs)


def profit_of(job: Job, terms: Profile) -> JobProfit:
    """One job, with what came back of it."""
    own = {job.pk} | {one.job_pk for one in reading.comebacks([job.pk])}
    jobs = list(Job.objects.filter(pk__in=own).select_related("radio__model__set_class", "customer"))
    return next(one for one in _reckoned(jobs, own, terms) if one.job.pk == job.pk)


def profits(
    terms: Profile, *, text: str = "", shown: str = BILLED, first: date | None = None, last: date | None = None
) -> ProfitList:
    """All jobs that answer, the last billed first. Days are those of the first bill; both count.

    Only the jobs that may answer are read, and what came back of them: one year costs the same in the twentieth.
    """
    asked = _asked(text, first, last)
    keys = None if asked is None else asked | {one.job_pk for one in reading.comebacks(asked)}
    jobs = Job.objects.select_related("radio__model__set_class", "customer").filter(reading.only(keys, "pk")).order_by("-pk")
    reckoned = _reckoned(list(jobs), keys, terms)
    found = [one for one in reckoned if (asked is None or one.job.pk in asked) and _answers(one, shown, first, last)]
    found.sort(key=lambda one: (one.first_billed_on or date.min, one.job.pk), reverse=True)
    return ProfitList(found, terms.currency, terms.hour_cost_minor)


def _asked(text: str, first: date | None, last: date | None) -> set[int] | None:
    """Jobs that hold every word and have a bill of these days; None for all jobs."""
    matching = _matching(text)
    if not first and not last:
        return matching
    billed = set(between(Invoice.objects.filter(kind=PaperKind.INVOICE), first, last).values_list("job", flat=True))
    return billed if matching is None else billed & matching


def _matching(text: str) -> set[int] | None:
    """Jobs whose number, customer, maker or model hold every word; None where nothing is asked."""
    jobs = Job.objects.all()
    for word in fold(text).split():
        sets = RadioSet.objects.filter(model__in=models_called(word)).order_by().values("pk")
        jobs = jobs.filter(Q(pk__in=numbered_with(word)) | Q(customer__in=customers_with(word)) | Q(radio__in=sets))
    return set(jobs.order_by().values_list("pk", flat=True)) if text.strip() else None


def _answers(one: JobProfit, shown: str, first: date | None, last: date | None) -> bool:
    day = one.first_billed_on
    if (first and (day is None or day < first)) or (last and (day is None or day > last)):
        return False
    return {
        BILLED: day is not None,
        NONE_BILLED: day is None,
        LOST: one.result_minor < 0,
        CAME_BACK: bool(one.comebacks or one.carried_to),
    }.get(shown, True)


def _reckoned(jobs: Sequence[Job], keys: reading.Keys, terms: Profile) -> list[JobProfit]:
    claims = reading.comebacks(keys)
    own = {one.job.pk: one for one in _own(jobs, keys, terms)}
    return [_charged(one, own, by_job, of_job) for by_job, of_job in [_sides(claims)] for one in own.values()]


def _sides(claims: Iterable[reading.Comeback]) -> tuple[dict[int, reading.Comeback], dict[int, list[reading.Comeback]]]:
    by_job: dict[int, reading.Comeback] = {}
    of_job: dict[int, list[reading.Comeback]] = defaultdict(list)
    for one in claims:
        by_job[one.job_pk] = one
        of_job[one.of_pk].append(one)
    return by_job, of_job


def _charged(
    one: JobProfit,
    own: Mapping[int, JobProfit],
    by_job: Mapping[int, reading.Comeback],
    of_job: Mapping[int, Sequence[reading.Comeback]],
) -> JobProfit:
    """With what came back of it, and without its own loss where it is what came back."""
    claims = [claim for claim in of_job.get(one.job.pk, ()) if claim.job_pk in own and not claim.stands_alone]
    mine = by_job.get(one.job.pk)
    carries = mine is not None and not mine.stands_alone
    return replace(
        one,
        comebacks=tuple(_borne(claim, own[claim.job_pk]) for claim in claims),
        carried_minor=max(-one.own_minor, 0) if carries else 0,
        carried_to=mine.of_number if mine and carries else "",
        is_goodwill=bool(mine and mine.is_goodwill),
    )


def _borne(claim: reading.Comeback, own: JobProfit) -> Borne:
    return Borne(claim.pk, claim.job_pk, claim.number, min(own.own_minor, 0), claim.is_goodwill)


def _own(jobs: Sequence[Job], keys: reading.Keys, terms: Profile) -> list[JobProfit]:
    sold, days = reading.sold(keys, terms.currency), reading.first_billed(keys)
    (parts, free_parts), scrapped = reading.parts_cost(keys), reading.scrapped_cost(keys)
    (minutes, free_minutes), (waived, lost) = reading.worked(keys), reading.let_go(keys, terms.currency)
    sales, other = reading.sale_losses(keys), reading.elsewhere(keys, terms.currency)
    credited = credited_minor_of_jobs(job.number for job in jobs)
    return [
        JobProfit(
            job=job,
            billed_parts_minor=sold.billed[job.pk, True],
            billed_work_minor=sold.billed[job.pk, False],
            credited_parts_minor=sold.credited[job.pk, True],
            credited_work_minor=sold.credited[job.pk, False],
            parts_milli=parts.get(job.pk, 0),
            free_parts_milli=free_parts.get(job.pk, 0),
            scrapped_milli=scrapped.get(job.pk, 0),
            minutes=minutes.get(job.pk, 0),
            free_minutes=free_minutes.get(job.pk, 0),
            hour_cost_minor=terms.hour_cost_minor,
            supplier_minor=credited.get(job.number, 0),
            waived_minor=waived.get(job.pk, 0),
            lost_minor=lost.get(job.pk, 0),
            sale_minor=sales.get(job.pk, 0),
            first_billed_on=days.get(job.pk),
            elsewhere=other.get(job.pk, 0),
        )
        for job in jobs
    ]
