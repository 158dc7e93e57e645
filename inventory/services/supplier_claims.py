"""Claims parts back from suppliers, step by step. Steps are added, never changed; a later step takes a slip back."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import timezone

from inventory.models import Drawer, Lot, SupplierClaim, SupplierClaimKind, SupplierClaimStep
from inventory.queries.supplier_claims import ClaimStanding, claimable_count, cover_of, standing_of
from inventory.services.ledger import Receipt, receive, send_back
from shop.acts import Refused, Stale
from shop.models import Staff

ASKED, SENT_BACK, CREDITED = SupplierClaimKind.ASKED, SupplierClaimKind.SENT_BACK, SupplierClaimKind.CREDITED
REPLACED, REFUSED, DROPPED = SupplierClaimKind.REPLACED, SupplierClaimKind.REFUSED, SupplierClaimKind.DROPPED


@dataclass(frozen=True, slots=True)
class Asking:
    """What is claimed back and why. `reference`: the job whose part failed. `late_why`: why, though the cover is over."""

    count: int
    reason: str
    on: date
    reference: str = ""
    late_why: str = ""


@transaction.atomic
def claim_back(lot: Lot, asking: Asking, *, person: Staff, at: datetime) -> SupplierClaim:
    """A claim with its first step. Not more than the lot was given, less what is claimed of it already."""
    current = Lot.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=lot.pk)
    if current.supplier is None:
        raise Refused("No supplier is written down for this lot, so there is nobody to claim from.", code="no_supplier")
    _check_asking(current, asking, timezone.localdate(at))
    claim = SupplierClaim.objects.create(
        supplier=current.supplier,
        lot=current,
        count=asking.count,
        cost_milli=asking.count * current.unit_cost_milli,
        reason=asking.reason.strip()[:200],
        reference=asking.reference.strip()[:60],
        until_on=cover_of(current, asking.on).until_on,
        at=at,
        person=person,
    )
    late = asking.late_why.strip()
    _add(claim, ASKED, asking.on, f"after the cover ended: {late}" if late else "", person, at)
    return claim


def _check_asking(lot: Lot, asking: Asking, today: date) -> None:
    _check_day(asking.on, lot.received_on, today)
    if not asking.reason.strip():
        raise Refused("Say what is wrong with them; the letter to the supplier says it, too.", field="reason")
    most = claimable_count(lot)
    if asking.count < 1:
        raise Refused("The count must be at least 1.", field="count")
    if asking.count > most:
        left = f"{most} of this lot can still be claimed" if most else "All of this lot is claimed already"
        raise Refused(f"{left}. Refused claims and those that were not followed up don't count.", field="count", code="too_many")
    cover = cover_of(lot, asking.on)
    if cover.is_over and not asking.late_why.strip():
        raise Refused(
            f"{lot.supplier} stood by this lot until {cover.until_on:%d %B %Y}. To claim all the same, say why.",
            field="late_why",
            code="late",
        )


def _check_day(on: date, first: date, today: date) -> None:
    if on > today + timedelta(days=1):
        raise Refused("That day lies ahead. Write a step down once it is done.", field="on")
    if on < first:
        raise Refused(f"That lies before {first:%d %B %Y}, when the lot came in.", field="on")


def _add(
    claim: SupplierClaim, kind: str, on: date, note: str, person: Staff, at: datetime, amount_minor: int = 0
) -> SupplierClaimStep:
    return SupplierClaimStep.objects.create(
        claim=claim, kind=kind, on=on, note=note[:200], amount_minor=amount_minor, person=person, at=at
    )


@dataclass(frozen=True, slots=True)
class Step:
    """What happened on a day. `seen`: how many steps stood on the page."""

    on: date
    note: str = ""
    seen: int | None = None


def _opened(claim: SupplierClaim, step: Step, at: datetime) -> ClaimStanding:
    """The claim as it stands, locked."""
    current = SupplierClaim.objects.select_for_update(of=("self",)).select_related("lot", "supplier").get(pk=claim.pk)
    standing = standing_of(current)
    if step.seen is not None and step.seen != len(standing.steps):
        raise Stale("Somebody else wrote a step down since you opened this page. Look at it, then send yours again.")
    _check_day(step.on, current.lot.received_on, timezone.localdate(at))
    return standing


def _need_open(standing: ClaimStanding) -> None:
    if not standing.is_open:
        raise Refused(
            f"This claim was answered: {standing.last.get_kind_display().lower()}. Ask again first, if it goes on.",
            code="answered",
        )


@transaction.atomic
def sent_back(
    claim: SupplierClaim, step: Step, *, person: Staff, at: datetime, out_of: Drawer | None = None, out_count: int = 0
) -> SupplierClaimStep:
    """Parts went to the supplier. `out_count` of them still lay in the drawer `out_of`; what came out of a set moves nothing."""
    standing = _opened(claim, step, at)
    _need_open(standing)
    current = standing.claim
    if out_count > current.count:
        raise Refused(f"The claim is for {current.count}; no more of them can go back.", field="out_count")
    if out_count and out_of is None:
        raise Refused("Say which drawer they were taken from.", field="out_of")
    note = step.note.strip()
    if out_count and out_of is not None:
        send_back(current.lot, out_of, out_count, reason=f"claimed: {current.reason}", person=person, at=at)
        note = "; ".join(part for part in (f"{out_count} out of drawer {out_of}", note) if part)
    return _add(current, SENT_BACK, step.on, note, person, at)


@transaction.atomic
def credited(claim: SupplierClaim, step: Step, amount_minor: int, *, person: Staff, at: datetime) -> SupplierClaimStep:
    """Money came back, in the smallest coin of the shop's money. More may follow."""
    standing = _opened(claim, step, at)
    if not standing.may_be_credited:
        _need_open(standing)
    if amount_minor < 1:
        raise Refused("Say how much came back.", field="amount")
    if standing.credited_minor + amount_minor > standing.cost_minor and not step.note.strip():
        raise Refused("That is more than the parts cost. If it is so, say in the note what else was paid.", field="note")
    return _add(standing.claim, CREDITED, step.on, step.note.strip(), person, at, amount_minor)


@dataclass(frozen=True, slots=True)
class Replacement:
    """Parts that came in place of those claimed. `unit_cost_milli`: what one cost the shop now, 0 where they came for nothing."""

    count: int
    drawer: Drawer
    unit_cost_milli: int = 0
    date_code: str = ""


@transaction.atomic
def replaced(claim: SupplierClaim, step: Step, came: Replacement, *, person: Staff, at: datetime) -> Lot:
    """Other parts came: a lot of their own, with the supplier's windows counted anew from that day."""
    standing = _opened(claim, step, at)
    _need_open(standing)
    current = standing.claim
    if came.count > current.count:
        raise Refused(f"The claim is for {current.count}. Receive what came beyond it as an ordinary delivery.", field="count")
    old = current.lot
    receipt = Receipt(
        part=old.part,
        drawer=came.drawer,
        count=came.count,
        unit_cost_milli=came.unit_cost_milli,
        received_on=step.on,
        supplier=current.supplier,
        date_code=came.date_code,
        condition=old.condition,
        note=f"in place of lot {old.pk}",
        reason=f"in place of lot {old.pk}",
    )
    lot = receive(receipt, person=person, at=at)
    note = "; ".join(part for part in (f"{came.count} came as lot {lot.pk}", step.note.strip()) if part)
    _add(current, REPLACED, step.on, note, person, at)
    return lot


@transaction.atomic
def answered_no(claim: SupplierClaim, step: Step, *, dropped: bool, person: Staff, at: datetime) -> SupplierClaimStep:
    """The supplier refused, or the shop doesn't follow it up; either with the reason."""
    standing = _opened(claim, step, at)
    _need_open(standing)
    if not step.note.strip():
        raise Refused("Say why, in a few words.", field="note")
    return _add(standing.claim, DROPPED if dropped else REFUSED, step.on, step.note.strip(), person, at)


@transaction.atomic
def ask_again(claim: SupplierClaim, step: Step, *, person: Staff, at: datetime) -> SupplierClaimStep:
    """The claim goes on after a no, and takes back a no that was a slip. What was claimed elsewhere meanwhile can't be twice."""
    standing = _opened(claim, step, at)
    kind = standing.last.kind
    if kind == REPLACED:
        raise Refused("Parts came in place of these. Claim on the lot that came, or count it.", code="replaced")
    if kind in (REFUSED, DROPPED) and standing.claim.count > claimable_count(standing.claim.lot):
        raise Refused("These parts were claimed anew meanwhile. Follow that claim up instead.", code="too_many")
    return _add(standing.claim, ASKED, step.on, step.note.strip(), person, at)


@transaction.atomic
def take_credit_back(claim: SupplierClaim, step: Step, *, person: Staff, at: datetime) -> SupplierClaimStep:
    """The last credit was written down and didn't come: the claim stands open again."""
    standing = _opened(claim, step, at)
    if standing.last.kind != CREDITED:
        raise Refused("The last step is no credit, so there is none to take back.", code="no_credit")
    note = step.note.strip() or "the credit was written down by mistake"
    return _add(standing.claim, ASKED, step.on, note, person, at, standing.last.amount_minor)
