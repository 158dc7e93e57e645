"""A set changes hands. What the shop promised for it goes along where its frozen terms say so."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from jobs.models import RadioSet, Warranty, WarrantyTransfer
from jobs.queries.holders import holder_of, running_warranties
from shop.acts import Refused, Stale
from shop.models import Customer, Staff


@dataclass(frozen=True, slots=True)
class NewOwner:
    """`moved_on` is the day the set changed hands, which may have passed before anybody told the shop."""

    customer: Customer
    moved_on: date
    note: str = ""


@transaction.atomic
def hand_on(radio: RadioSet, new: NewOwner, *, seen: int, person: Staff, at: datetime) -> list[WarrantyTransfer]:
    """The set is another customer's from that day. Refused while a job on it is open: that job is its customer's.

    A warranty that doesn't go along ends; it comes to life again only for whom it was promised to, should the set return there.
    """
    current = RadioSet.objects.select_for_update().select_related("customer").get(pk=radio.pk)
    if current.version != seen:
        raise Stale("The set was changed by somebody else since you opened it. Look who has it now, then send again.")
    _check(current, new, timezone.localdate(at))
    former = current.customer
    made = [_transfer(one, former, new, person, at) for one in running_warranties(current, new.moved_on)]
    current.customer = new.customer
    current.version += 1
    current.save(update_fields=["customer", "version"])
    return made


def _check(radio: RadioSet, new: NewOwner, today: date) -> None:
    if new.customer.pk == radio.customer_id:
        raise Refused(f"The set is {new.customer}'s already. Choose who has it now.")
    if new.moved_on > today:
        raise Refused("The day lies in the future. Write it down once the set has changed hands.", field="moved_on")
    here = radio.jobs.open().first()  # type: ignore[attr-defined]
    if here is not None:
        raise Refused(
            f"Job {here.number} is open on this set, and its bill and its warranty are {here.customer}'s. "
            "Hand the set over or give it back first."
        )


def _transfer(warranty: Warranty, former: Customer, new: NewOwner, person: Staff, at: datetime) -> WarrantyTransfer:
    held_by = holder_of(warranty, warranty.transfers_made.all())  # type: ignore[attr-defined]
    goes_along = new.customer.pk == held_by.pk or (warranty.transfers and former.pk == held_by.pk)
    return WarrantyTransfer.objects.create(
        warranty=warranty,
        from_customer=former,
        to_customer=new.customer,
        moved_on=new.moved_on,
        goes_along=goes_along,
        note=new.note.strip()[:200],
        at=at,
        person=person,
    )
