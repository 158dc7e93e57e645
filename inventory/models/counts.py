"""Blind counts: what was counted before anybody saw what the ledger says."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.cards import Drawer
from inventory.models.stock import Lot, Movement


class DrawerCount(models.Model):
    """One count of a whole drawer. Open until it is booked or dropped; the ledger's figures are shown only after entry."""

    drawer = models.ForeignKey(Drawer, on_delete=models.PROTECT, related_name="counts")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    counted_at = models.DateTimeField("all was entered", null=True, blank=True)
    booked_at = models.DateTimeField(null=True, blank=True)
    booked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    dropped_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["drawer"], condition=Q(booked_at__isnull=True, dropped_at__isnull=True), name="one_open_count_a_drawer"
            ),
        ]

    def __str__(self) -> str:
        return f"count of {self.drawer}"

    @property
    def is_open(self) -> bool:
        return self.booked_at is None and self.dropped_at is None


class CountedLot(models.Model):
    """One lot of a count. `expected` is what the ledger said when it was counted; `last_movement` tells what moved since."""

    count = models.ForeignKey(DrawerCount, on_delete=models.CASCADE, related_name="lots")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    counted = models.PositiveIntegerField(null=True, blank=True)
    expected = models.PositiveIntegerField(null=True, blank=True)
    last_movement = models.ForeignKey(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="counted_by")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["count", "lot"], name="a_lot_is_counted_once")]

    def __str__(self) -> str:
        return f"{self.lot}: {self.counted}"
