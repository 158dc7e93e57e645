"""Finding jobs, and what a job's page says beside its log: where it is in the flow, its history of acts, its cautions."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import BooleanField, Case, F, Q, QuerySet, Value, When

from inventory.components.roles import role as role_of
from jobs.bench.hazards import Caution, cautions, features_in
from jobs.models import EntryKind, Job, JobAct, RadioModel, RadioSet, Stage, Timer
from jobs.models.job import OPEN_STAGES
from jobs.queries.sheet import Sheet, standing
from shop.models import Customer, Staff
from shop.search_text import fold, may_be_numbered

USUAL_WAY = (
    Stage.TAKEN_IN,
    Stage.INSPECTING,
    Stage.AWAITING_CONSENT,
    Stage.AGREED,
    Stage.REPAIRING,
    Stage.PROVING,
    Stage.SOAKING,
    Stage.READY,
    Stage.HANDED_OVER,
)
DECLINED_WAY = (Stage.TAKEN_IN, Stage.INSPECTING, Stage.AWAITING_CONSENT, Stage.DECLINED, Stage.RETURNED)
SOLD_WAYS = {Stage.DECLINED: (*DECLINED_WAY[:-1], Stage.SOLD), Stage.READY: (*USUAL_WAY[:-1], Stage.SOLD)}


def matching(jobs: "QuerySet[Job]", text: str) -> "QuerySet[Job]":
    """Jobs whose number, customer, maker, model, serial or fault hold every word of the text, accents and case aside.

    The fault is kept as it was told, so its accents count. Customers and sets are asked first and alone: joined to every job,
    they would be read once for each.
    """
    for typed in text.replace("\0", " ").split():
        for word in fold(typed).split():
            wanted = Q(customer__in=customers_with(word)) | Q(radio__in=sets_called(word)) | Q(fault__icontains=typed)
            jobs = jobs.filter(wanted | Q(number__icontains=word) if may_be_numbered(word) else wanted)
    return jobs


def customers_with(word: str) -> "QuerySet[Customer, Any]":
    """Keys, of a folded word."""
    return Customer.objects.filter(search__contains=word).order_by().values("pk")


def sets_called(word: str) -> "QuerySet[RadioSet, Any]":
    """Keys of sets whose maker, model or serial number hold a folded word."""
    return RadioSet.objects.filter(Q(model__in=models_called(word)) | Q(serial__icontains=word)).order_by().values("pk")


def models_called(word: str) -> "QuerySet[RadioModel, Any]":
    """Keys of models whose maker or name hold a folded word."""
    return RadioModel.objects.filter(key__contains=word).order_by().values("pk")


def numbered_with(word: str) -> "QuerySet[Job, Any]":
    """Keys of jobs whose number holds a folded word."""
    found = Job.objects.filter(number__icontains=word) if may_be_numbered(word) else Job.objects.none()
    return found.order_by().values("pk")


def sets_matching(sets: "QuerySet[RadioSet]", text: str) -> "QuerySet[RadioSet]":
    """Sets whose maker, model, serial number or owner hold every word of the text, accents and case aside."""
    for word in fold(text).split():
        sets = sets.filter(Q(pk__in=sets_called(word)) | Q(customer__in=customers_with(word)))
    return sets


def overdue(on: date) -> Q:
    """Promised for a day that has passed, and still here."""
    return Q(promised_on__lt=on, stage__in=OPEN_STAGES)


def with_lateness(jobs: "QuerySet[Job]", on: date) -> "QuerySet[Job]":
    """Adds `is_late`, so that a page need not compare dates."""
    return jobs.annotate(is_late=Case(When(overdue(on), then=Value(True)), default=Value(False), output_field=BooleanField()))


def by_promise(jobs: "QuerySet[Job]") -> "QuerySet[Job]":
    """The nearest promise first; without a promise last; then what waits longest."""
    return jobs.order_by(F("promised_on").asc(nulls_last=True), F("waits_since_at").asc(nulls_last=True), "pk")


def stage_line(job: Job) -> list[tuple[str, str]]:
    """(word, "done" | "now" | "ahead") for each stage of the way this job goes."""
    way = _way_of(job)
    here = way.index(Stage(job.stage))
    return [(one.label, "done" if at < here else "now" if at == here else "ahead") for at, one in enumerate(way)]


def _way_of(job: Job) -> tuple[Stage, ...]:
    if job.stage == Stage.SOLD:
        return SOLD_WAYS[Stage.DECLINED if was_declined(job) else Stage.READY]
    return DECLINED_WAY if job.stage in (Stage.DECLINED, Stage.RETURNED) else USUAL_WAY


def was_declined(job: Job) -> bool:
    """Whether the job ends, or ended, without repair. What was sold uncollected may have been ready or declined."""
    if job.stage != Stage.SOLD:
        return job.stage in (Stage.DECLINED, Stage.RETURNED)
    return job.acts.filter(to_stage=Stage.SOLD, from_stage=Stage.DECLINED).exists()  # type: ignore[attr-defined, no-any-return]


def acts_done(job: Job) -> list[JobAct]:
    return list(job.acts.select_related("person").order_by("-pk"))


def running_clock(person: Staff) -> Timer | None:
    """The clock this person has running, on whichever job."""
    return Timer.objects.select_related("job").filter(person=person).first()


@dataclass(frozen=True, slots=True)
class Permission:
    """One thing the customer may allow or forbid."""

    words: str
    given: bool


def permissions(job: Job) -> tuple[Permission, ...]:
    return (
        Permission("drill", job.may_drill),
        Permission("rewire", job.may_rewire),
        Permission("fit a polarised plug", job.may_fit_polarised_plug),
        Permission("add a fuse", job.may_fit_fuse),
    )


def cautions_of(job: Job, sheet: Sheet) -> tuple[Caution, ...]:
    """What may hurt in this set. Only a set whose list names transistors and no valve counts as one without valves."""
    roles = {row.role for row in sheet.rows}
    has_valves = not ("transistor" in roles and not roles & {"valve", "rectifier_valve"})
    radio = job.radio
    year = radio.year or radio.model.year
    return cautions(radio.model.supply_kind, year=year, has_valves=has_valves, features=_features(job, sheet))


def _features(job: Job, sheet: Sheet) -> frozenset[str]:
    """What the set's notes, its line-up and the log name that has a caution of its own."""
    radio = job.radio
    valves = [f"{row.called} {row.found.text if row.found else ''}" for row in sheet.rows if role_of(row.role).kind == "valve"]
    said = [entry.text for entry in standing(sheet.entries) if entry.kind in (EntryKind.FOUND, EntryKind.NOTE)]
    lineup = " ".join([radio.lineup or radio.model.lineup, *valves])
    return features_in([radio.note, radio.model.traps, *said], lineup)
