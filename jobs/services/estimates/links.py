"""The private link to a version that is with the customer: made, revoked, let in again. Its token is kept as a hash only."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from jobs.models import ApprovalLink, Estimate
from jobs.models.estimate import EstimateState
from jobs.queries.estimates import ANSWERED
from shop.acts import Refused, Stale
from shop.models import Staff
from shop.private_tokens import digest_of, new_token


@transaction.atomic
def make_link(estimate: Estimate, *, person: Staff, at: datetime) -> str:
    """A private link to one sent version: the token is given back once and kept as a hash only. Older links of it die."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if current.state != EstimateState.SENT or current.stands_until_on is None:
        raise Refused("Only an estimate that is with the customer has a link. Send it first.", code="not_sent")
    current.links.filter(revoked_at__isnull=True).update(revoked_at=at)
    token = new_token()
    days = max((current.stands_until_on - timezone.localdate(at)).days + 1, 1)
    ApprovalLink.objects.create(
        estimate=current, token_hash=digest_of(token), expires_at=at + timedelta(days=days), made_at=at, made_by=person
    )
    return token


@transaction.atomic
def revoke_link(estimate: Estimate, *, at: datetime) -> None:
    """The private link of this version leads nowhere any more; the version itself stays with the customer."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if not current.links.filter(revoked_at__isnull=True, expires_at__gt=at).update(revoked_at=at):
        raise Stale(f"Version {current.number} has no private link that leads anywhere.")


@transaction.atomic
def restore_link(estimate: Estimate, *, at: datetime) -> None:
    """The undoing of `revoke_link`: whoever has the newest link may read again. Older ones stay dead."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    newest = current.links.order_by("-pk").first()
    is_good = current.state in (EstimateState.SENT, *ANSWERED) and newest is not None and newest.expires_at > at
    if newest is None or not is_good or newest.revoked_at is None:
        raise Stale("That link can't be let in again. Make a new private link.")
    newest.revoked_at = None
    newest.save(update_fields=["revoked_at"])
