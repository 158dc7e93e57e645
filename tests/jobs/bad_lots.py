"""A lot found bad, letters about it, a claim on its supplier: one call makes one, through the services."""

from typing import Any

from django.utils import timezone

from inventory.models import BadLot, Lot, SupplierClaim
from inventory.services.bad_lots import Finding, find_bad
from inventory.services.supplier_claims import Asking, Step, claim_back, credited
from jobs.models import Job, LogEntry
from jobs.services.bad_lot_letters import Told, record_answer, record_letters
from shop.clock import now
from shop.models import Staff
from tests.builders import a_staff


def a_bad_lot(job: Job, why: str = "leaks at half its voltage", person: Staff | None = None, **facts: Any) -> BadLot:
    """The lot of the part that a job fitted first, found bad; `supplier` and `date_code` are written on the lot before."""
    entry = job.entries.filter(kind="fitted").select_related("lot").first()  # type: ignore[attr-defined]
    known = {name: facts.pop(name) for name in ("supplier", "date_code") if name in facts}
    assert entry is not None
    assert entry.lot is not None
    Lot.objects.filter(pk=entry.lot.pk).update(**known)
    entry.lot.refresh_from_db()
    also = facts.pop("also", ())
    return find_bad(entry.lot, Finding(why, **facts), also=also, person=person or a_staff(), at=now())


def a_letter(bad: BadLot, answer: str = "", person: Staff | None = None, how: str = "post") -> None:
    """To everybody whose set it is in; answered where an answer is given."""
    entries = list(LogEntry.objects.filter(kind="fitted", lot=bad.lot).select_related("job__radio__customer"))
    told = Told(entries, timezone.localdate(now()), how)
    record_letters([bad], told, person=person or a_staff(), at=now())
    if answer:
        record_answer([bad], told, answer, person=person or a_staff(), at=now())


def a_supplier_claim(
    lot: Lot, reason: str = "leaks", count: int = 1, person: Staff | None = None, credited_minor: int = 0, **facts: Any
) -> SupplierClaim:
    who, today = person or a_staff(), timezone.localdate(now())
    claim = claim_back(lot, Asking(count, reason, facts.pop("on", today), **facts), person=who, at=now())
    if credited_minor:
        credited(claim, Step(today), credited_minor, person=who, at=now())
    return claim
