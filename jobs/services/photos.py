"""Writes the photos of a job. They are evidence: none is removed, and the found state is locked before the first change."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from jobs.models import EntryKind, FoundState, Job, LogEntry, Moment, Photo, PhotoConsent, Position, Stage
from jobs.queries.photos import (
    fixed_because,
    fold,
    found_photos,
    is_changed,
    lock_of,
    moments_open,
    needs_proof,
    said,
    sent_because,
    state_of,
)
from jobs.services.stages import lock_job, open_job
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.pictures import Picture, digest_kept, keep_picture
from shop.prepared import Prepared

WANTS_NONE = (
    "The customer wants no photos but those that prove the work: the set as it was found, a finding at a position. "
    "Tick that the proof needs it, or leave it out."
)
# Rewiring is written as a correction of the wiring that was found; before the set is worked on, a correction mends the finding.
REWIRING_STAGES = (Stage.REPAIRING, Stage.PROVING, Stage.DECLINED)


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What is written with a photo, and can be corrected while nothing rests on it."""

    caption: str = ""
    position: Position | None = None
    moment: str = ""


@transaction.atomic
def add_photo(
    job: Job,
    picture: Picture,
    *,
    person: Staff,
    at: datetime,
    caption: str = "",
    position: Position | None = None,
    moment: str = "",
    proves: bool = False,
) -> Photo:
    """Keep a photo with its fingerprint. Without a moment it shows what a photo taken now shows: the found state at first.

    `proves`: the person says that the proof of the work needs it, where the customer agreed to no other.
    """
    current = open_job(job)
    shows = moment or moments_open(current)[0]
    if not proves and needs_proof(current, shows, position):
        raise Refused(WANTS_NONE, field="proves", code="no_consent")
    if shows == Moment.FOUND:
        _check_found_open(current)
    facts = {"caption": caption.strip()[:160], "position": position, "moment": shows}
    photo = Photo(job=current, **facts, digest=picture.digest, at=at, person=person)
    keep_picture(photo.image, picture)
    photo.save()
    return photo


@transaction.atomic
def change_photo_consent(job: Job, consent: str, *, seen: int) -> Job:
    """What the customer agrees to from now on; also of a job that is closed, as a consent can be taken back at any time."""
    current = lock_job(job, seen)
    if consent not in PhotoConsent.values:
        raise Refused("Choose what the customer agreed to from the list.", field="photo_consent")
    current.photo_consent = consent
    current.version += 1
    current.save(update_fields=["photo_consent", "version"])
    return current


def _check_found_open(job: Job) -> None:
    locked = lock_of(job)
    if locked is None and not is_changed(job):
        return
    since = f"was locked on {said(locked.at)}" if locked else "ended with the first part that went in"
    raise Refused(
        f"The found state of {job.number} {since}. A photo that comes now shows the set during the work, or when it was done.",
        field="moment",
        code="locked",
    )


@transaction.atomic
def change_photo(photo: Photo, facts: PhotoFacts, *, seen: int) -> Photo:
    """Correct caption, position or moment, while the found state isn't locked and no customer has seen the photo."""
    current = _changeable(photo, seen)
    if current.set_aside_at is not None:
        raise Refused("This photo was set aside. Bring it back first.")
    if facts.position is not None and facts.position.job_id != current.job_id:
        raise Refused("That position is none of this set's. Choose one from the list.", field="position")
    if facts.position != current.position:
        because = sent_because(current, facts.position)
        if because:
            raise Refused(because, field="position", code="fixed")
    if facts.moment and facts.moment != current.moment:
        if facts.moment == Moment.FOUND:
            _check_found_open(current.job)
        current.moment = facts.moment
    current.caption, current.position = facts.caption.strip()[:160], facts.position
    current.digest = current.digest or digest_kept(current.image)
    current.save()
    return current


@transaction.atomic
def set_aside(photo: Photo, why: str, *, person: Staff, at: datetime, seen: int) -> Photo:
    """Take a photo that was sent in error out of the grid. It stays, with the reason, and can be brought back."""
    reason = " ".join(why.split())[:200]
    if not reason:
        raise Refused("Say why the photo is set aside: another set, a blurred one.", field="why")
    current = _changeable(photo, seen)
    if current.set_aside_at is not None:
        raise Stale("This photo was set aside already. Load the page again.")
    current.set_aside_at, current.set_aside_by, current.set_aside_why = at, person, reason
    current.save()
    return current


@transaction.atomic
def bring_back(photo: Photo) -> Photo:
    """Put a photo that was set aside back into the grid, as it was."""
    current = _changeable(photo)
    if current.set_aside_at is None:
        raise Stale("This photo is in the grid already. Load the page again.")
    if current.moment == Moment.FOUND:
        _check_found_open(current.job)
    current.set_aside_at, current.set_aside_by, current.set_aside_why = None, None, ""
    current.save()
    return current


def _changeable(photo: Photo, seen: int | None = None) -> Photo:
    """The photo, its job locked; refused where something rests on it as it is."""
    open_job(photo.job)
    current = Photo.objects.select_related("job", "position").get(pk=photo.pk)
    if seen is not None and seen != state_of(current):
        raise Stale("Somebody else changed this photo since you opened it. Compare, then send yours again.")
    because = fixed_because(current)
    if because:
        raise Refused(because, code="fixed")
    return current


@transaction.atomic
def lock_found_state(job: Job, *, person: Staff, at: datetime, seen: str) -> FoundState:
    """Lock the found state by hand. `seen` is the fingerprint that the person's page showed."""
    current = open_job(job)
    locked = lock_of(current)
    if locked is not None:
        raise Stale(f"The found state was locked on {said(locked.at)} by {locked.person} already.")
    if is_changed(current):
        raise Refused("A part went in or came out already, so the set can't be locked as it was found any more.")
    photos = _fingerprinted(current)
    if not photos:
        raise Refused("No photo shows the set as it was found. Take photos first, then lock them.")
    if fold(photo.digest for photo in photos) != seen:
        raise Stale("A photo came or went since you opened the page. Look at them again, then lock them.")
    return _lock(current, photos, person=person, at=at)


_FOUND_STATE = Prepared(lambda job: FoundState.objects.filter(job=job).values_list("pk")[:1])


def lock_by_change(entry: LogEntry) -> None:
    """Lock the found state with the first entry that changes the circuit. The job's row must be locked.

    With no photo it is locked as well: none can say any more that it shows the set before.
    """
    if entry.kind == EntryKind.WIRING and (entry.corrects_id is None or entry.job.stage not in REWIRING_STAGES):
        return
    if not _FOUND_STATE.tuples(entry.job_id):
        _lock(entry.job, _fingerprinted(entry.job), person=entry.person, at=entry.at, by_change=entry.seq)


def _fingerprinted(job: Job) -> list[Photo]:
    """The photos of the found state; one kept before there were fingerprints gets its own now."""
    photos = list(found_photos(job))
    for photo in photos:
        if not photo.digest:
            photo.digest = digest_kept(photo.image)
            photo.save(update_fields=["digest"])
    return photos


def _lock(job: Job, photos: Sequence[Photo], *, person: Staff, at: datetime, by_change: int | None = None) -> FoundState:
    """Clocks are read before the job's row is waited for, so a photo that came in meanwhile may be some moments younger."""
    digest, at = fold(photo.digest for photo in photos), max([at, *(photo.at for photo in photos)])
    return FoundState.objects.create(job=job, photo_count=len(photos), digest=digest, by_change=by_change, at=at, person=person)
