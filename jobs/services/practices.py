"""Writes the shop's own practices. Verdicts already in a log keep the practice they were given by."""

from dataclasses import dataclass

from django.db import transaction

from inventory.components.roles import ROLES
from jobs.models import Goal, TolerancePractice
from shop.acts import Refused, Stale

LEAST_BP, MOST_BP = -10_000, 100_000


@dataclass(frozen=True, slots=True)
class PracticeFacts:
    """`low_bp` at or below zero, `high_bp` at or above, in basis points; "" for any role or goal."""

    role: str
    goal: str
    low_bp: int
    high_bp: int
    why: str = ""


@transaction.atomic
def add_practice(facts: PracticeFacts) -> TolerancePractice:
    _check(facts)
    return TolerancePractice.objects.create(**_values(facts))


@transaction.atomic
def change_practice(practice: TolerancePractice, facts: PracticeFacts, *, seen: int) -> TolerancePractice:
    current = _locked(practice, seen)
    _check(facts, but=current)
    for name, value in _values(facts).items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    return current


@transaction.atomic
def remove_practice(practice: TolerancePractice, *, seen: int) -> None:
    _locked(practice, seen).delete()


def _locked(practice: TolerancePractice, seen: int) -> TolerancePractice:
    current = TolerancePractice.objects.select_for_update().filter(pk=practice.pk).first()
    if current is None:
        raise Stale("Somebody else took this practice out. Go back to the list.")
    if current.version != seen:
        raise Stale("Somebody else changed this practice since you opened it. Compare, then send again.")
    return current


def _check(facts: PracticeFacts, but: TolerancePractice | None = None) -> None:
    if facts.role and facts.role not in ROLES:
        raise Refused("Choose a role from the list.", field="role")
    if facts.goal and facts.goal not in Goal.values:
        raise Refused("Choose a goal from the list.", field="goal")
    if not facts.role and not facts.goal:
        raise Refused("Choose a role, a goal or both. The figure for everything else stands in the shop's terms.", field="role")
    if not LEAST_BP <= facts.low_bp <= 0:
        raise Refused("How far below lies between 0 and 100 %.", field="below")
    if not 0 <= facts.high_bp <= MOST_BP:
        raise Refused("How far above lies between 0 and 1000 %.", field="above")
    others = TolerancePractice.objects.filter(role=facts.role, goal=facts.goal)
    if (others.exclude(pk=but.pk) if but else others).exists():
        raise Refused("There is a practice for this role and goal already. Change that one.", field="role")


def _values(facts: PracticeFacts) -> dict[str, object]:
    return {
        "role": facts.role,
        "goal": facts.goal,
        "low_bp": facts.low_bp,
        "high_bp": facts.high_bp,
        "why": " ".join(facts.why.split())[:200],
    }
