"""The alternatives that a draft offers, and which lines and positions belong to which."""

from django.db import transaction
from django.db.models import F

from jobs.models import Alternative, Estimate, EstimateLine, Position, PositionTier
from jobs.queries.alternatives import MOST_ALTERNATIVES, SUGGESTED
from jobs.queries.sheet import JUDGED, position_state
from jobs.services.estimates.drafting import draft_only, redraw, retotal
from shop.acts import Refused, Stale
from shop.search_text import fold

IN_THE_SET = "This part is in the set already, so it is in every alternative."


@transaction.atomic
def offer(estimate: Estimate, *, seen: int | None = None) -> None:
    """Begin with the suggested three. Every line is in all of them until it is put into one."""
    draft_only(estimate, seen)
    if estimate.alternatives.exists():  # type: ignore[attr-defined]
        raise Stale("This draft offers alternatives already. Load the page again.")
    for tier, (name, text) in enumerate(SUGGESTED, 1):
        Alternative.objects.create(estimate=estimate, tier=tier, name=name, text=text)
    retotal(estimate)


@transaction.atomic
def add_alternative(estimate: Estimate, name: str, text: str, *, seen: int | None = None) -> Alternative:
    """One more, larger than those there are."""
    draft_only(estimate, seen)
    there = list(estimate.alternatives.all())  # type: ignore[attr-defined]
    if len(there) >= MOST_ALTERNATIVES:
        raise Refused(f"An estimate offers at most {MOST_ALTERNATIVES} alternatives. Take one away first.")
    made = Alternative(estimate=estimate, tier=len(there) + 1)
    _name(made, name, text, there)
    retotal(estimate)
    made.refresh_from_db()
    return made


@transaction.atomic
def change_alternative(alternative: Alternative, name: str, text: str, *, seen: int | None = None) -> None:
    estimate = alternative.estimate
    draft_only(estimate, seen)
    others = [one for one in estimate.alternatives.all() if one.pk != alternative.pk]  # type: ignore[attr-defined]
    _name(alternative, name, text, others)
    retotal(estimate)


def _name(alternative: Alternative, name: str, text: str, others: list[Alternative]) -> None:
    if not name.strip():
        raise Refused("Give the alternative a name.", field="name")
    if fold(name) in {fold(one.name) for one in others}:
        raise Refused(f"There is an alternative called “{name.strip()}” already.", field="name")
    alternative.name, alternative.text = name.strip()[:60], text.strip()[:300]
    alternative.save()


@transaction.atomic
def remove_alternative(alternative: Alternative, *, seen: int | None = None) -> str:
    """Take one away; gives the name of the one its lines go to: the next larger, or the next smaller where it was the largest."""
    estimate = alternative.estimate
    draft_only(estimate, seen)
    gone = estimate.alternatives.filter(pk=alternative.pk).first()  # type: ignore[attr-defined]
    if gone is None:
        raise Stale("That alternative was taken away already.")
    tier = gone.tier
    gone.delete()
    for larger in estimate.alternatives.filter(tier__gt=tier).order_by("tier"):  # type: ignore[attr-defined]
        larger.tier -= 1
        larger.save(update_fields=["tier"])
    # What was in a larger one moves down with it; what was in the one taken away now stands where the next larger is.
    for rows in (estimate.lines, estimate.position_tiers):  # type: ignore[attr-defined]
        rows.filter(tier__gt=tier).update(tier=F("tier") - 1)
    left = estimate.alternatives.count()  # type: ignore[attr-defined]
    estimate.lines.filter(tier__gt=left).update(tier=left)  # type: ignore[attr-defined]
    estimate.position_tiers.filter(tier__gt=left).update(tier=left)  # type: ignore[attr-defined]
    estimate.position_tiers.filter(tier__lte=1).delete()  # type: ignore[attr-defined]
    redraw(estimate)
    heir = estimate.alternatives.filter(tier=min(tier, left)).first()  # type: ignore[attr-defined]
    return heir.name if heir else ""


@transaction.atomic
def place(line: EstimateLine, tier: int, *, seen: int | None = None) -> None:
    """Put a line into alternative `tier` and the larger ones; 0 or 1 is all. A line of the log takes its position along."""
    estimate = line.estimate
    draft_only(estimate, seen)
    count = estimate.alternatives.count()  # type: ignore[attr-defined]
    if not count:
        raise Refused("This draft offers no alternatives, so its lines are in the whole of it. Add alternatives first.")
    if not 0 <= tier <= count:
        raise Refused("Choose one of the alternatives of this draft.", field="tier")
    if line.from_log:
        _place_position(estimate, line, tier)
    else:
        line.tier = tier
        line.save(update_fields=["tier"])
        if line.position is not None:
            _keep(estimate, line.position, tier)
    redraw(estimate)


def _place_position(estimate: Estimate, line: EstimateLine, tier: int) -> None:
    if line.position is None:
        raise Refused("Work that is done already is in every alternative.")
    if is_fitted(line):
        raise Refused(IN_THE_SET)
    _keep(estimate, line.position, tier)


def is_fitted(line: EstimateLine) -> bool:
    return line.position is not None and bool(position_state(line.position, JUDGED).fitted)


def _keep(estimate: Estimate, position: Position, tier: int) -> None:
    if tier > 1:
        PositionTier.objects.update_or_create(estimate=estimate, position=position, defaults={"tier": tier})
    else:
        PositionTier.objects.filter(estimate=estimate, position=position).delete()
