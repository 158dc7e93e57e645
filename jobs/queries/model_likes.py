"""Sets that are like those of a model: what was replaced in them by role, for a model that hasn't been here yet.

Never mixed with what the model's own sets taught: it is told apart, with the words that say how alike they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from inventory.components.roles import role as role_of
from jobs.models import RadioModel
from jobs.queries.folded import DECIDED_OR_FITTED, states_of, was_decided, was_replaced
from jobs.queries.sheet import PositionState

YEARS_APART = 5


@dataclass(frozen=True, slots=True)
class RoleCount:
    """Places of one role in like sets: how many were decided on, in how many a part of ours went in."""

    role: str
    places: int
    replaced: int

    @property
    def label(self) -> str:
        return role_of(self.role).label

    @property
    def percent(self) -> int:
        return round(100 * self.replaced / self.places)


@dataclass(frozen=True, slots=True)
class Likes:
    """`how` says in what the sets are alike. Empty `roles`: none was here."""

    how: str = ""
    models: tuple[str, ...] = ()
    sets: int = 0
    roles: tuple[RoleCount, ...] = ()


def likes_of(model: RadioModel) -> Likes:
    """By the same maker first; where none was here, by any maker. Two queries for each of these."""
    near = _near(model)
    same_maker = _likes(near.filter(maker__iexact=model.maker), f"by {model.maker}, {_alike(model)}")
    return same_maker if same_maker.roles else _likes(near, f"by other makers, {_alike(model)}")


def _near(model: RadioModel) -> QuerySet[RadioModel]:
    near = RadioModel.objects.filter(supply_kind=model.supply_kind).exclude(pk=model.pk)
    if model.year is None:
        return near
    return near.filter(year__gte=model.year - YEARS_APART, year__lte=model.year + YEARS_APART)


def _alike(model: RadioModel) -> str:
    supply = f"with the same supply ({model.get_supply_kind_display()})"
    if model.year is None:
        return f"{supply}, of any year, as this model's is not known"
    return f"{supply}, first made {model.year - YEARS_APART} to {model.year + YEARS_APART}"


def _likes(models: QuerySet[RadioModel], how: str) -> Likes:
    names = {one.pk: str(one) for one in models}
    if not names:
        return Likes()
    sheets = states_of(Q(job__radio__model__in=list(names), job__warranty_of=None), DECIDED_OR_FITTED)
    states = [state for sheet in sheets.values() for state in sheet if was_decided(state)]
    sets = {state.position.radio_id for state in states}  # type: ignore[attr-defined]
    return Likes(how, tuple(sorted(names.values())), len(sets), tuple(_roles(states))) if states else Likes()


def _roles(states: Sequence[PositionState]) -> list[RoleCount]:
    """The most often replaced first; of two that are as often, the one seen more."""
    counts: dict[str, tuple[int, int]] = {}
    for state in states:
        places, replaced = counts.get(state.role, (0, 0))
        counts[state.role] = places + 1, replaced + was_replaced(state)
    found = [RoleCount(role, *count) for role, count in counts.items()]
    return sorted(found, key=lambda one: (-one.replaced / one.places, -one.places, one.label))
