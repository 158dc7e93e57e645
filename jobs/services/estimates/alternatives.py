"""The alternatives that a draft offers, and which lines and positions belong to which."""

from collections.abc import Mapping

from django.db import transaction
from django.db.models import F

from jobs.models import Alternative, Estimate, EstimateLine, PositionTier
from jobs.queries.alternatives import MOST_ALTERNATIVES, SUGGESTED, placeable
from jobs.queries.sheet import JUDGED, sheet_of
from jobs.services.estimates.drafting import draft_only, redraw, retotal
from shop.acts import Refused, Stale
from shop.search_text import fold


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
def place(estimate: Estimate, places: Mapping[int, int], *, seen: int | None = None) -> None:
    """Put lines into an alternative and the larger ones, by line key; 0 or 1 is all. The log's take their position along."""
    draft_only(estimate, seen)
    count = estimate.alternatives.count()  # type: ignore[attr-defined]
    if not count:
        raise Refused("This draft offers no alternatives, so its lines are in the whole of it. Add alternatives first.")
    if not all(0 <= tier <= count for tier in places.values()):
        raise Refused("Choose one of the alternatives of this draft.")
    lines = {line.pk: line for line in estimate.lines.select_related("position")}  # type: ignore[attr-defined]
    if not lines.keys() >= places.keys():
        raise Stale("A line was drawn anew or taken away since you opened the page. Look at the lines as they are now.")
    free = {line.pk for line in placeable(lines.values(), sheet_of(estimate.job, JUDGED))}
    for pk, tier in places.items():
        if pk not in free:
            raise Refused("What is in the set or worked already is in every alternative.")
        _place(lines[pk], tier if tier > 1 else 0)
    redraw(estimate)


def _place(line: EstimateLine, tier: int) -> None:
    if not line.from_log:
        line.tier = tier
        line.save(update_fields=["tier"])
    if line.position is None:
        return
    if tier:
        rows = PositionTier.objects
        rows.update_or_create(estimate=line.estimate, position=line.position, defaults={"tier": tier})
    else:
        PositionTier.objects.filter(estimate=line.estimate, position=line.position).delete()
