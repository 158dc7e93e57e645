"""The rules that this shop works by: those of its place, as far as it tightened them. Read by pages and services of every app."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from shop.acts import Refused, Stale
from shop.jurisdictions import PLACES, STRICTEST, Rules, TooLoose, effective, tightened_by
from shop.models import Profile

# What a new shop starts with; in the states of a union of states only the owner can say which one it is.
OF_COUNTRY = {"GB": "gb", "DE": "de"}


def rules_of(profile: Profile | None) -> Rules:
    """Before the shop is set up: the strictest of all."""
    return effective(profile.jurisdiction, profile.tightened) if profile else effective(STRICTEST, {})


def allowance_of(profile: Profile) -> int:
    """The written allowance that holds, in basis points: the shop's, but never more than the rules let it have."""
    return rules_of(profile).allowed_bp(profile.allowance_bp)


def estimate_terms(profile: Profile) -> str:
    """The shop's terms as an estimate carries them: with what the place wants said. Frozen with the version that is sent."""
    rules = rules_of(profile)
    days = rules.cancellation.days
    cancel = f"Where you agree without being in the shop, you may cancel within {days} days; no reason is needed." if days else ""
    return "\n\n".join(text for text in (profile.terms.strip(), *rules.estimate.say, cancel) if text)


def check_allowance(profile: Profile) -> None:
    rules = rules_of(profile)
    if profile.allowance_bp > rules.allowed_bp(profile.allowance_bp):
        most = rules.overrun.allowance_bp or 0
        raise Refused(
            f"The rules you work by ({rules.name}) allow {most / 100:g} % above the agreed sum: {rules.overrun.source.citation}. "
            "Lower it, or look at Owner, Rules of the place.",
            field="allowance_bp",
        )


@transaction.atomic
def save_place(code: str, wished: Mapping[str, Any], *, seen: int) -> Profile:
    """Pick a place and tighten its rules; `wished` as in `shop.jurisdictions.tightening`. Loosening is refused.

    An allowance above what the new rules let the shop have is kept as it is and has no effect: the smaller one holds.
    """
    current = Profile.objects.select_for_update().get(pk=1)
    if current.version != seen:
        raise Stale("The shop's terms were changed by somebody else since you opened this. Compare, then send again.")
    if code not in PLACES:
        raise Refused("Choose one of the places.", field="jurisdiction")
    try:
        current.tightened = tightened_by(code, wished)
    except TooLoose as loose:
        raise Refused(str(loose), field=loose.key) from loose
    current.jurisdiction = code
    current.version += 1
    current.save()
    return current
