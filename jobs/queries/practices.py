"""The shop's own practices, and which of them counts at a position."""

from decimal import Decimal

from inventory.components.roles import ROLES
from jobs.bench.practice import Picked, PracticeRow, Suggestion, pick_practice, suggestions
from jobs.models import Goal, Job, TolerancePractice
from shop.models import Profile
from shop.prepared import Prepared

_ROWS = Prepared(lambda: TolerancePractice.objects.values_list("role", "goal", "low_bp", "high_bp"))


def practice_rows() -> list[PracticeRow]:
    rows = _ROWS.tuples()
    return [PracticeRow(role, goal, (Decimal(low_bp) / 100, Decimal(high_bp) / 100)) for role, goal, low_bp, high_bp in rows]


def practice_for(job: Job, role: str, terms: Profile) -> Picked:
    """The band that judges a reading at a position of this role in this job, with its words."""
    return pick_practice(
        practice_rows(), role, job.goal, Decimal(terms.tolerance_percent), Goal(job.goal).label if job.goal else ""
    )


def role_words(role: str) -> str:
    return ROLES[role].label if role in ROLES else (role or "any role")


def open_suggestions() -> list[Suggestion]:
    """What is usual in the trade and not in the shop's own list yet."""
    have = set(TolerancePractice.objects.values_list("role", "goal"))
    return [one for one in suggestions() if (one.role, one.goal) not in have]
