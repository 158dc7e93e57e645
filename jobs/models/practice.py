"""The shop's own practice: how far a reading may lie from the value called for, where the service data gives no tolerance."""

from typing import ClassVar

from django.db import models

from jobs.models.job import Goal


class TolerancePractice(models.Model):
    """A band in basis points for a role, for a customer's goal, or for both together; empty means any.

    The narrowest row that fits a position counts: role and goal, then role, then goal, then the shop profile's figure.
    """

    role = models.CharField(max_length=30, blank=True)
    goal = models.CharField(max_length=12, choices=Goal, blank=True)
    low_bp = models.IntegerField("lowest")
    high_bp = models.IntegerField("highest")
    why = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["role", "goal"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["role", "goal"], name="one_practice_a_role_and_goal"),
            models.CheckConstraint(condition=models.Q(low_bp__lte=0, high_bp__gte=0), name="a_band_holds_the_value"),
        ]

    def __str__(self) -> str:
        return f"{self.low_bp / 100:g} to {self.high_bp / 100:+g} %"
