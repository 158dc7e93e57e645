"""What is known already when a set comes in: the customer's sets, the models, warranties that still run."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from jobs.bench.hazards import Caution, cautions, features_in
from jobs.models import CalledFor, Job, RadioModel, RadioSet
from shop.models import Customer
from shop.search_text import fold

MOST_FOUND = 8


def sets_of(customer: Customer) -> QuerySet[RadioSet]:
    return RadioSet.objects.filter(customer=customer).select_related("model")


def listed_sets() -> QuerySet[RadioSet]:
    """Adds `job_count`, and of the last job its key `last_job` and its `last_number`."""
    jobs = Job.objects.filter(radio=OuterRef("pk")).order_by("-pk")
    found = RadioSet.objects.select_related("model", "customer").annotate(
        job_count=_count(jobs, "radio"), last_job=Subquery(jobs.values("pk")[:1]), last_number=Subquery(jobs.values("number")[:1])
    )
    return found.order_by("model__maker", "model__name", "pk")


def models_matching(text: str) -> QuerySet[RadioModel]:
    """Models whose maker and name hold every word of the text."""
    found = RadioModel.objects.all()
    for word in fold(text).split():
        found = found.filter(key__contains=word)
    places, sets = CalledFor.objects.filter(model=OuterRef("pk")), RadioSet.objects.filter(model=OuterRef("pk"))
    return found.annotate(position_count=_count(places, "model"), set_count=_count(sets, "model"))


def _count(rows: "QuerySet[Any]", by: str) -> Coalesce:
    """Of the rows that belong to the one in question: counted for the rows that are shown, and for no others."""
    return Coalesce(Subquery(rows.order_by().values(by).annotate(count=Count("pk")).values("count")), 0)


def models_like(text: str) -> Sequence[RadioModel]:
    """The few that fit what is being typed."""
    return list(models_matching(text)[:MOST_FOUND]) if text.strip() else []


def model_called(maker: str, name: str) -> RadioModel | None:
    """The known model of that maker and name, however it is spelt; None where either is missing."""
    if not maker.strip() or not name.strip():
        return None
    return models_matching("").filter(key=RadioModel.key_of(maker, name)).first()


@dataclass(frozen=True, slots=True)
class KnownSet:
    """A set that was here before. `here` is its open job, `covered` the newest past job that the shop still stands by."""

    radio: RadioSet
    here: Job | None = None
    covered: Job | None = None
    covered_until_on: date | None = None


def known_sets(radios: Sequence[RadioSet], on: date) -> list[KnownSet]:
    """What each set's past means for taking it in today, in two queries however many sets there are."""
    here = {job.radio_id: job for job in Job.objects.open().filter(radio__in=radios).order_by("pk")}
    covered = {job.radio_id: job for job in _covered(radios, on)}
    return [
        KnownSet(radio, here.get(radio.pk), job, job.covered_until_on if job else None)  # type: ignore[attr-defined]
        for radio in radios
        for job in [covered.get(radio.pk)]
    ]


def _covered(radios: Sequence[RadioSet], on: date) -> QuerySet[Job]:
    runs = Q(warranty__lines__covered=True, warranty__lines__until_on__gte=on)
    jobs = Job.objects.filter(runs, radio__in=radios)
    return jobs.annotate(covered_until_on=Max("warranty__lines__until_on", filter=runs)).order_by("pk")


def set_cautions(supply_kind: str, year: int | None, lineup: str) -> Sequence[Caution]:
    """What may hurt in a set as far as the counter knows it, gravest first. Without a line-up it may have valves."""
    if not supply_kind:
        return ()
    return cautions(supply_kind, year=year, has_valves=has_valves(lineup), features=features_in([], lineup))


def has_valves(lineup: str) -> bool:
    """False only where the line-up says transistors and nothing of valves."""
    words = fold(lineup)
    return "transistor" not in words or "valve" in words or "tube" in words


def jobs_lacking(model: RadioModel) -> list[tuple[Job, int]]:
    """Running jobs on sets of this model that lack positions of its list, with how many."""
    names = set(model.called_for.values_list("designator", flat=True))  # type: ignore[attr-defined]
    jobs = (
        Job.objects.open()
        .filter(radio__model=model, billed=False)
        .select_related("radio__model", "customer")
        .prefetch_related("positions")
    )
    counted = [(job, len(names - {position.designator for position in job.positions.all()})) for job in jobs]  # type: ignore[attr-defined]
    return [(job, count) for job, count in counted if count]
