"""The album of a job: its photos in the order of the grid, narrowed to a place, and the ones before and after one of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models import F

from jobs.models import Job, Moment, Photo
from shop.pictures import is_kept

ORDER = (Moment.FOUND, Moment.WORK, Moment.DONE, "")
HEADINGS = {
    Moment.FOUND: "As it was found",
    Moment.WORK: "During the work",
    Moment.DONE: "When it was done",
    "": "Not said when",
}
WHOLE_SET = "set"


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
