"""Erases what jobs hold of a person. What may go, the caller has made sure: `shop.personal`."""

from collections.abc import Iterable
from datetime import datetime
from functools import partial

from django.db import transaction
from django.db.models import Case, F, Value, When

from jobs.models import CameWith, Photo
from jobs.queries.personal import estimates_with_words, intakes_with_words, ledger_rows, photos_kept, sets_with_words
from shop.append_only import ERASED, erase_words
from shop.models import Customer, Staff
from shop.pictures import remove_kept


@transaction.atomic
def erase_intake(jobs: Iterable[int]) -> int:
    """The fault in the customer's words, cabinet, what came along, where it stands; of how many jobs."""
    keys = list(jobs)
    CameWith.objects.filter(job__in=keys).delete()
    changed = {"cabinet": "", "stands_at": "", "waits_note": "", "version": F("version") + 1}
    return intakes_with_words(keys).update(fault=ERASED, **changed)


@transaction.atomic
def erase_photos(jobs: Iterable[int], *, person: Staff, at: datetime) -> int:
    """Set aside, with the mark as reason, caption and file gone; the fingerprint stays. Files go once the transaction is through.

    A photo that was set aside before keeps that moment: what counted as the found state can still be told.
    """
    photos = list(photos_kept(jobs).select_for_update())
    for photo in photos:
        transaction.on_commit(partial(remove_kept, photo.image.storage, str(photo.image.name)))
        Photo.objects.filter(pk=photo.pk).update(
            image="",
            caption="",
            set_aside_why=ERASED,
            set_aside_at=photo.set_aside_at or at,
            set_aside_by=photo.set_aside_by_id or person.pk,
        )
    return len(photos)


@transaction.atomic
def erase_sets(customer: Customer, held_jobs: Iterable[int]) -> int:
    """Serial number and note; model, year and line-up name nobody."""
    keys = list(sets_with_words(customer, held_jobs).values_list("pk", flat=True))
    return customer.sets.filter(pk__in=keys).update(serial="", note="", version=F("version") + 1)  # type: ignore[attr-defined]


@transaction.atomic
def erase_records(jobs: Iterable[int]) -> int:
    """Names and words in the ledgers and the estimates of jobs whose papers need no keeping any more; how many records."""
    keys = list(jobs)
    marked = {one: Case(When(**{one: ""}, then=Value("")), default=Value(ERASED)) for one in ("note", "because")}
    estimates = estimates_with_words(keys).update(**marked)
    return estimates + sum(erase_words(rows) for rows in ledger_rows(keys))
