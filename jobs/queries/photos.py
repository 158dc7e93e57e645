"""What rests on the photos of a job: which show the found state, whether it is locked, what the customer has seen."""

import hashlib
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from jobs.bench.hazards import Caution
from jobs.models import EntryKind, Estimate, FoundState, Job, LogEntry, Moment, Photo, PhotoConsent, Position, Stage
from jobs.queries.known import set_cautions
from shop.append_only import ERASED

# What changes the circuit for certain. A wiring entry is a finding as a rule, and what was found is no change.
CHANGES = (EntryKind.FITTED, EntryKind.TAKEN_OUT)
FINISHED = (Stage.SOAKING, Stage.READY, Stage.HANDED_OVER)
# What may hurt whoever takes the chassis out to photograph it from below.
OPEN_CHASSIS = ("live_chassis", "stored_charge", "line_voltage", "high_tension", "battery_ht")


def fold(digests: Iterable[str]) -> str:
    """SHA-256 over the digests of photos, one after the other, in order of their keys."""
    return hashlib.sha256("".join(digests).encode()).hexdigest()


def found_photos(job: Job) -> "QuerySet[Photo]":
    """What counts as the found state: photos of that moment that nobody set aside, in order of their keys."""
    return Photo.objects.filter(job=job, moment=Moment.FOUND, set_aside_at=None).order_by("pk")


def found_photos_then(locked: FoundState) -> "list[Photo]":
    """The photos that were locked, also where their files and words were erased since: their fingerprints stay."""
    erased_since = Q(set_aside_why=ERASED, set_aside_at__gt=locked.at)
    found = Photo.objects.filter(Q(set_aside_at=None) | erased_since, job=locked.job_id, moment=Moment.FOUND)
    return list(found.order_by("pk"))


def lock_of(job: Job) -> FoundState | None:
    return FoundState.objects.filter(job=job).select_related("person").first()


def is_changed(job: Job) -> bool:
    """Whether a part went in or came out: from then on nobody can photograph the set as it was found."""
    return LogEntry.objects.filter(job=job, kind__in=CHANGES).exists()


def moments_open(job: Job) -> list[str]:
    """Which moments a photo taken now may show, the likeliest first."""
    if lock_of(job) is None and not is_changed(job):
        return [Moment.FOUND, Moment.WORK, Moment.DONE]
    return [Moment.DONE, Moment.WORK] if job.stage in FINISHED else [Moment.WORK, Moment.DONE]


def needs_proof(job: Job, moment: str, position: Position | None = None) -> bool:
    """Whether such a photo must be needed for the proof of the work: the found state and a position's finding are anyway."""
    return job.photo_consent == PhotoConsent.NONE and moment != Moment.FOUND and position is None


def state_of(photo: Photo) -> int:
    """A number for what can be changed of a photo, so that of two people who change it the second is told."""
    said_of = (photo.caption, photo.position_id, photo.moment, photo.set_aside_at is None)
    return zlib.crc32("|".join(map(str, said_of)).encode())


def photographing_cautions(job: Job) -> list[Caution]:
    radio = job.radio
    year, lineup = radio.year or radio.model.year, radio.lineup or radio.model.lineup
    return [one for one in set_cautions(radio.model.supply_kind, year, lineup) if one.code in OPEN_CHASSIS]


def said(at: datetime) -> str:
    return date_format(timezone.localtime(at), "j F Y, H:i")


def fixed_because(photo: Photo) -> str:
    """Why nothing that was written with a photo changes any more; an empty text while it may."""
    locked = lock_of(photo.job) if photo.moment == Moment.FOUND and photo.set_aside_at is None else None
    if locked is not None:
        return (
            f"The found state of {photo.job.number} was locked on {said(locked.at)}, and nothing of its photos changes since. "
            "Write what there is to say into the log."
        )
    return sent_because(photo, photo.position)


def sent_because(photo: Photo, position: Position | None) -> str:
    """A version that went to the customer with a finding at this position showed all its photos that were there."""
    if position is None:
        return ""
    shown = Estimate.objects.filter(job=photo.job_id, sent_at__gte=photo.at, evidence__entry__position=position)
    version = shown.order_by("-number").first()
    if version is None:
        return ""
    return (
        f"Version {version.number} of the estimate went to the customer with the photos of {position.designator} as they were. "
        "They stay so; a note in the log can say more."
    )


@dataclass(frozen=True, slots=True)
class AtPosition:
    """What a position's page says of photos: how many show it, and whether any shows the set as it was found."""

    count: int
    any_found: bool


def photos_at(position: Position) -> AtPosition:
    """In one query, however many photos the job has."""
    rows = list(Photo.objects.filter(job=position.job_id, set_aside_at=None).values_list("position_id", "moment"))
    return AtPosition(sum(place == position.pk for place, _ in rows), any(moment == Moment.FOUND for _, moment in rows))
