"""Profit by kind of set, by age, by month; and what came back by its cause. Never by person: work comes back for reasons."""

from calendar import monthrange
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.dateformat import format as format_day

from billing.queries.profit.figures import JobProfit, Summed, summed
from billing.queries.profit.jobs import ProfitList
from jobs.models import Cause, ClaimFinding, Job
from shop.totals import share_out

NO_CLASS, NO_YEAR, NO_BILL = "no class", "year not known", "not billed yet"
NOTHING_FOUND = "nothing found yet"


@dataclass(frozen=True, slots=True)
class Group:
    """`order` sorts months and ages; a month has its first and last day as `first` and `last`."""

    name: str
    sums: Summed
    order: str = ""
    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True)
class CauseCost:
    """What sets that came back for one cause cost, after what was billed for them. A claim with several causes is shared."""

    label: str
    claims: int
    loss_minor: int


def _class(job: Job) -> tuple[str, str]:
    found = job.radio.model.set_class
    return (f"{found.order:05}", found.name) if found else ("~", NO_CLASS)


def _supply(job: Job) -> tuple[str, str]:
    return "", job.radio.model.get_supply_kind_display()  # type: ignore[attr-defined]


def _model(job: Job) -> tuple[str, str]:
    return "", str(job.radio.model)


def _maker(job: Job) -> tuple[str, str]:
    return "", job.radio.model.maker


def _age(job: Job) -> tuple[str, str]:
    """By the decade that the set was made in; the model's first year stands in for the set's own."""
    year = job.radio.year or job.radio.model.year
    return (f"{year // 10:04}", f"{year // 10 * 10}s") if year else ("~", NO_YEAR)


_BY_JOB: dict[str, Callable[[Job], tuple[str, str]]] = {
    "class": _class,
    "supply": _supply,
    "model": _model,
    "maker": _maker,
    "age": _age,
}
BY = (
    ("month", "month of the first bill"),
    ("class", "class of set"),
    ("supply", "supply"),
    ("model", "model"),
    ("maker", "maker"),
    ("age", "decade it was made in"),
)


def _key(one: JobProfit, by: str) -> tuple[str, str]:
    if by != "month":
        return _BY_JOB[by](one.job)
    day = one.first_billed_on
    return (f"{day:%Y-%m}", format_day(day, "F Y")) if day else ("~", NO_BILL)


def groups_of(found: ProfitList, by: str) -> list[Group]:
    """Those with an order of their own in it, others by what they earned, the most first."""
    members: dict[tuple[str, str], list[JobProfit]] = defaultdict(list)
    for one in found.jobs:
        members[_key(one, by)].append(one)
    groups = [Group(name, summed(jobs), order, *_days(jobs, by)) for (order, name), jobs in members.items()]
    return sorted(groups, key=lambda one: (one.order, -one.sums.result_minor, one.name))


def _days(jobs: Sequence[JobProfit], by: str) -> tuple[date | None, date | None]:
    day = jobs[0].first_billed_on
    if by != "month" or day is None:
        return None, None
    return day.replace(day=1), day.replace(day=monthrange(day.year, day.month)[1])


def causes(found: ProfitList) -> list[CauseCost]:
    """Of all that came back of the jobs of the list, the dearest cause first. One query; the sums are those of the list."""
    borne = [one for job in found.jobs for one in job.comebacks]
    told = _causes_of([one.claim_pk for one in borne])
    loss: Counter[str] = Counter()
    count: Counter[str] = Counter()
    for one in borne:
        why = told.get(one.claim_pk) or [""]
        for cause, minor in zip(why, share_out(-one.minor, [1] * len(why)), strict=True):
            loss[cause] += minor
            count[cause] += 1
    labels = {"": NOTHING_FOUND, **dict(Cause.choices)}
    found_causes = [CauseCost(labels[cause], count[cause], loss[cause]) for cause in count]
    return sorted(found_causes, key=lambda one: (-one.loss_minor, one.label))


def _causes_of(claims: Iterable[int]) -> dict[int, Sequence[str]]:
    """The causes that stand, each once a claim."""
    findings = ClaimFinding.objects.filter(claim__in=list(claims), corrected_by__isnull=True, withdrawn=False)
    told: dict[int, dict[str, None]] = defaultdict(dict)
    for claim, cause in findings.order_by("pk").values_list("claim_id", "cause"):
        told[claim][cause] = None
    return {claim: sorted(causes_of) for claim, causes_of in told.items()}
