"""What of the jobs is somebody's personal data, what keeps it from being erased, and when its last record was made."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Exists, Max, OuterRef, Q, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from inventory.models import BadLot
from jobs.models import (
    BadLotLetter,
    Claim,
    CollectionNotice,
    Consent,
    Deposit,
    DisputeStep,
    EntryKind,
    Estimate,
    HandOver,
    Job,
    JobAct,
    LogEntry,
    NoticeService,
    Photo,
    RadioSet,
    WarrantyLine,
    WarrantyTransfer,
)
from jobs.models.job import OPEN_STAGES
from shop.append_only import ERASED, with_words
from shop.models import Customer

Keys = Iterable[int] | None


@dataclass(frozen=True, slots=True)
class Record:
    """The newest record of one kind in a job. `place`: code of the place whose rules it was made under, where it names one."""

    customer_pk: int
    job_pk: int
    on: date
    what: str
    place: str = ""


# What names or describes the customer in ledgers, with the way to its job and the moment it was made.
RECORDS: tuple[tuple[str, Any, str, str], ...] = (
    ("answer to an estimate", Consent, "job", "at"),
    ("deposit", Deposit, "job", "at"),
    ("hand-over", HandOver, "job", "at"),
    ("notice to collect", CollectionNotice, "job", "at"),
    ("proof of a notice", NoticeService, "notice__job", "at"),
    ("dispute", DisputeStep, "job", "at"),
    ("letter about a bad lot", BadLotLetter, "entry__job", "at"),
)


def records(customers: Keys = None) -> Iterator[Record]:
    """Of these customers, or of all: one query a kind."""
    for what, model, job, at in RECORDS:
        rows = model.objects.order_by()
        if customers is not None:
            rows = rows.filter(**{f"{job}__customer__in": customers})
        for customer_pk, job_pk, last in rows.values_list(f"{job}__customer", job).annotate(Max(at)):
            yield Record(customer_pk, job_pk, day_of(last), what)


def day_of(at: date | datetime) -> date:
    return timezone.localdate(at) if isinstance(at, datetime) else at


def holds(day: date, customers: Keys = None) -> dict[int, list[str]]:
    """By job: why nothing of it may be erased on `day`, in words. Jobs that may go are not among them."""
    jobs = Job.objects.order_by() if customers is None else Job.objects.order_by().filter(customer__in=customers)
    found: dict[int, list[str]] = defaultdict(list)
    for pk in jobs.open().values_list("pk", flat=True):
        found[pk].append("it stands in the workshop")
    for pk, until in _warranties(day, customers):
        found[pk].append(f"its warranty runs until {date_format(until, 'j F Y')}")
    claimed = Claim.objects.filter(warranty__job__in=jobs.values("pk"), job__stage__in=OPEN_STAGES).order_by("pk")
    for pk, number in claimed.values_list("warranty__job", "job__number"):
        found[pk].append(f"a claim on its warranty is open, job {number}")
    for pk in _untold(jobs):
        found[pk].append("a bad lot is in the set, and its owner wasn't told")
    for pk in _disputed(jobs):
        found[pk].append("what is owed for it is disputed")
    return dict(found)


def _warranties(day: date, customers: Keys) -> "Iterable[tuple[int, date]]":
    """Also of a set that belongs to them now, while the job was another's: whoever holds the promise."""
    lines = WarrantyLine.objects.order_by().filter(covered=True, until_on__gte=day)
    if customers is not None:
        theirs = Job.objects.filter(customer__in=customers).order_by().values("pk")
        held = Job.objects.filter(radio__customer__in=customers).order_by().values("pk")
        lines = lines.filter(Q(warranty__job__in=theirs) | Q(warranty__job__in=held))
    return lines.values_list("warranty__job").annotate(Max("until_on"))  # type: ignore[return-value]


def _untold(jobs: Any) -> "Iterable[int]":
    """Who may be in danger must be reachable until they are told."""
    told = BadLotLetter.objects.filter(entry=OuterRef("pk"))
    inside = LogEntry.objects.filter(kind=EntryKind.FITTED, taken_out_by=None, job__in=jobs.values("pk")).order_by()
    bad = inside.filter(Exists(BadLot.objects.filter(lot=OuterRef("lot"), lifted_at=None)))
    return bad.filter(~Exists(told)).values_list("job", flat=True).distinct()


def _disputed(jobs: Any) -> Iterator[int]:
    newest: dict[int, bool] = dict(
        DisputeStep.objects.filter(job__in=jobs.values("pk")).order_by("pk").values_list("job_id", "opens")
    )
    return (pk for pk, opens in newest.items() if opens)


# Ledgers with personal words, with the way to the job. The rest of the log speaks of parts and readings.
LEDGERS: tuple[tuple[Any, str], ...] = (
    (Consent, "job"),
    (JobAct, "job"),
    (LogEntry, "job"),
    (HandOver, "job"),
    (CollectionNotice, "job"),
    (NoticeService, "notice__job"),
    (DisputeStep, "job"),
    (BadLotLetter, "entry__job"),
    (WarrantyTransfer, "warranty__job"),
)


def ledger_rows(jobs: Iterable[int]) -> "list[QuerySet[Any]]":
    """What of these jobs' ledgers still holds personal words, a ledger each."""
    asked = list(jobs)
    return [with_words(model.objects.filter(**{f"{job}__in": asked})) for model, job in LEDGERS]


def estimates_with_words(jobs: Iterable[int]) -> "QuerySet[Estimate]":
    return Estimate.objects.filter(job__in=list(jobs)).exclude(note__in=("", ERASED), because__in=("", ERASED)).order_by()


def words_erased(estimate: Estimate) -> bool:
    """What the fingerprint was taken of isn't whole any more once a person's words or photos in it were erased."""
    evidence = [row.entry for row in estimate.evidence.all()]  # type: ignore[attr-defined]
    photos = [photo for entry in evidence if entry.position for photo in entry.position.photos.all()]
    words = (estimate.note, estimate.because, *(entry.text for entry in evidence), *(one.set_aside_why for one in photos))
    return ERASED in words


def photos_kept(jobs: Iterable[int]) -> "QuerySet[Photo]":
    """Photos whose file is still there."""
    return Photo.objects.filter(job__in=list(jobs)).exclude(image="").order_by("pk")


def intakes_with_words(jobs: Iterable[int]) -> "QuerySet[Job]":
    return Job.objects.filter(pk__in=list(jobs)).exclude(fault=ERASED).order_by("pk")


def sets_with_words(customer: Customer, held_jobs: Iterable[int]) -> "QuerySet[RadioSet]":
    """Their sets that bear a serial number or a note, and no job that is held."""
    named = RadioSet.objects.filter(customer=customer).exclude(serial="", note="")
    return named.exclude(jobs__in=list(held_jobs)).order_by("pk")


def promised_to(customer: Customer, day: date) -> list[Job]:
    """Jobs of others whose warranty this customer holds now, while it runs."""
    running = WarrantyLine.objects.filter(warranty__job=OuterRef("pk"), covered=True, until_on__gte=day)
    theirs = Job.objects.filter(Exists(running), radio__customer=customer).exclude(customer=customer)
    return list(theirs.order_by("pk"))
