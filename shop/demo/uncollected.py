"""A set that nobody comes for: called for, told of the sale, sold at last; what is left waits for its owner."""

from datetime import datetime, timedelta

from django.utils.timezone import localdate

from billing.services.uncollected import Sale, sell
from jobs.models import CollectionNotice, Job, NoticeKind, ServiceKind
from jobs.services.collection import Notice, record_notice, record_service
from shop.models import Staff

NAMED_DAYS_AHEAD = 93


def call(job: Job, *, person: Staff, at: datetime) -> None:
    _post(_notice(job, NoticeKind.COLLECT, person, at), "RP 0417 2216 GB", person, at)


def warn(job: Job, *, person: Staff, at: datetime) -> None:
    """The notice of sale names a day well ahead, and comes back signed for."""
    named = _notice(job, NoticeKind.SALE, person, at, names_day_on=localdate(at) + timedelta(days=NAMED_DAYS_AHEAD))
    _post(named, "RP 0417 2301 GB", person, at)
    record_service(
        named, ServiceKind.DELIVERED, localdate(at), "signed for at the door", person=person, at=at + timedelta(minutes=9)
    )


def _notice(job: Job, kind: str, person: Staff, at: datetime, **more: object) -> CollectionNotice:
    to_whom = f"{job.customer.name}\n{job.customer.address}"
    sent = Notice(kind, localdate(at), "registered or recorded post", to_whom, undisputed=True, checked=True, **more)  # type: ignore[arg-type]
    return record_notice(job, sent, person=person, at=at)


def _post(notice: CollectionNotice, receipt: str, person: Staff, at: datetime) -> None:
    record_service(notice, ServiceKind.POSTED, localdate(at), receipt, person=person, at=at + timedelta(minutes=5))


def sell_it(job: Job, *, person: Staff, at: datetime) -> None:
    sale = Sale(
        localdate(at),
        price_minor=46_000,
        to_whom="Ottilie Vanterpool, 2 Ropewalk, Wendlemere",
        how="public auction of 23 lots, announced in the Wendlemere Gazette",
        costs_minor=2_400,
        costs_text="the auctioneer's fee",
        auctioned=True,
        checked=True,
    )
    sell(job, sale, person=person, at=at)
    job.refresh_from_db()
