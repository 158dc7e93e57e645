"""The photos of a job: in which order they are shown, what of the found state is locked, what the customer has seen."""

import hashlib
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import F, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from jobs.bench.hazards import Caution
from jobs.models import EntryKind, Estimate, FoundState, Job, LogEntry, Moment, Photo, Position, Stage
from jobs.queries.known import set_cautions
from shop.pictures import is_kept

# What changes the circuit for certain. A wiring entry is a finding as a rule, and what was found is no change.
CHANGES = (EntryKind.FITTED, EntryKind.TAKEN_OUT)
FINISHED = (Stage.SOAKING, Stage.READY, Stage.HANDED_OVER)
ORDER = (Moment.FOUND, Moment.WORK, Moment.DONE, "")
HEADINGS = {
    Moment.FOUND: "As it was found",
    Moment.WORK: "During the work",
    Moment.DONE: "When it was done",
    "": "Not said when",
}
WHOLE_SET = "set"
# What may hurt whoever takes the chassis out to photograph it from below.
OPEN_CHASSIS = ("live_chassis", "stored_charge", "line_voltage", "high_tension", "battery_ht")


def fold(digests: Iterable[str]) -> str:
    """SHA-256 over the digests of photos, one after the other, in order of their keys."""
    return hashlib.sha256("".join(digests).encode()).hexdigest()


def found_photos(job: Job) -> "QuerySet[Photo]":
    """What counts as the found state: photos of that moment that nobody set aside, in order of their keys."""
    return Photo.objects.filter(job=job, moment=Moment.FOUND, set_aside_at=None).order_by("pk")


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
class Shown:
    """A photo in the grid; `is_here` is whether its file is in the shop's folder."""

    photo: Photo
    is_here: bool

    @property
    def place(self) -> str:
        return self.photo.position.designator if self.photo.position else "the set as a whole"

    @property
    def words(self) -> str:
        """What stands in the picture's place for who can't see it."""
        return f"{self.photo.caption or 'Photo without a caption'}, {self.place}"


@dataclass(frozen=True, slots=True)
class Group:
    moment: str
    photos: tuple[Shown, ...]

    @property
    def heading(self) -> str:
        return HEADINGS[Moment(self.moment)] if self.moment else HEADINGS[""]


@dataclass(frozen=True, slots=True)
class Place:
    """One choice of the filter: `key` stands in the address, `count` photos are there."""

    key: str
    label: str
    count: int


@dataclass(frozen=True, slots=True)
class Album:
    """What the photo page shows. `wanted` is the place it is narrowed to, None for all."""

    groups: tuple[Group, ...]
    set_aside: tuple[Shown, ...]
    places: tuple[Place, ...]
    count: int
    found_count: int
    wanted: Place | None


def album_of(job: Job, wanted: str = "") -> Album:
    """All photos of a job in one query, by moment, then by position; narrowed to a place that has some, or else to none."""
    everything = in_order(job)
    standing = [photo for photo in everything if photo.set_aside_at is None]
    places = _places(standing)
    place = next((one for one in places if one.key == wanted), None)
    shown = [photo for photo in standing if place is None or _key(photo) == place.key]
    groups = (Group(moment, tuple(map(_shown, photos))) for moment, photos in groupby(shown, key=lambda photo: photo.moment))
    aside = tuple(_shown(photo) for photo in everything if photo.set_aside_at is not None)
    found = sum(photo.moment == Moment.FOUND for photo in standing)
    return Album(tuple(groups), aside, places, len(standing), found, place)


def in_order(job: Job) -> list[Photo]:
    """By moment, then the set as a whole before its positions in circuit order, then as they came."""
    rows = job.photos.select_related("position", "person", "set_aside_by").order_by(  # type: ignore[attr-defined]
        F("position__order").asc(nulls_first=True), "position_id", "pk"
    )
    return sorted(rows, key=lambda photo: ORDER.index(photo.moment))


def _key(photo: Photo) -> str:
    return str(photo.position_id or WHOLE_SET)


def _shown(photo: Photo) -> Shown:
    return Shown(photo, is_kept(photo.image))


def _places(photos: Sequence[Photo]) -> tuple[Place, ...]:
    counts: dict[str, int] = {}
    labels: dict[str, str] = {}
    for photo in sorted(photos, key=lambda one: (one.position.order, one.position.pk) if one.position else (-1, 0)):
        counts[_key(photo)] = counts.get(_key(photo), 0) + 1
        labels[_key(photo)] = photo.position.designator if photo.position else "the set as a whole"
    return tuple(Place(key, labels[key], count) for key, count in counts.items())


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The photos before and after one, in the order of the grid; `number` of `count`, both 0 for one that was set aside."""

    before: Photo | None
    after: Photo | None
    number: int
    count: int


def neighbours_of(photo: Photo, wanted: str = "") -> Neighbours:
    standing = [one for one in in_order(photo.job) if one.set_aside_at is None and wanted in ("", _key(one))]
    here = next((at for at, one in enumerate(standing) if one.pk == photo.pk), None)
    if here is None:
        return Neighbours(None, None, 0, 0)
    after = standing[here + 1] if here + 1 < len(standing) else None
    return Neighbours(standing[here - 1] if here else None, after, here + 1, len(standing))


@dataclass(frozen=True, slots=True)
class AtPosition:
    """What a position's page says of photos: how many show it, and whether any shows the set as it was found."""

    count: int
    any_found: bool


def photos_at(position: Position) -> AtPosition:
    """In one query, however many photos the job has."""
    rows = list(Photo.objects.filter(job=position.job_id, set_aside_at=None).values_list("position_id", "moment"))
    return AtPosition(sum(place == position.pk for place, _ in rows), any(moment == Moment.FOUND for _, moment in rows))
