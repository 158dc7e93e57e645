"""What suppliers offer: their price lists, how each one's file is read, and every line of the newest one."""

from fractions import Fraction
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.cards import Supplier
from inventory.models.stock import Part


class ListLayout(models.Model):
    """How a supplier's file is to be read, as somebody confirmed it; remembered for the next one."""

    supplier = models.OneToOneField(Supplier, on_delete=models.CASCADE, related_name="list_layout")
    file_kind = models.CharField(max_length=4)
    encoding = models.CharField(max_length=40, blank=True)
    delimiter = models.CharField(max_length=4, blank=True)
    decimal_sign = models.CharField(max_length=1, default=".")
    sheet = models.CharField(max_length=80, blank=True)
    first_row = models.PositiveIntegerField("first row with an offer", default=2)
    columns = models.JSONField("meaning of each column", default=dict)
    headings = models.JSONField("headings as they were", default=list)
    is_whole = models.BooleanField("what is missing from a new file is no longer offered", default=True)
    confirmed_at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"layout of {self.supplier}"


class PriceList(models.Model):
    """One file that was taken in, with what it did."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="price_lists")
    file_name = models.CharField(max_length=200)
    digest = models.CharField("SHA-256 of the file", max_length=64, db_index=True)
    currency = models.CharField(max_length=3)
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    same = models.PositiveIntegerField(default=0)
    rejected = models.PositiveIntegerField(default=0)
    withdrawn = models.PositiveIntegerField("no longer offered", default=0)
    rejects = models.JSONField("line number and reason of the first rejected lines", default=list)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.file_name} of {self.supplier}"


class Offer(models.Model):
    """One thing a supplier sells, by the supplier's own code.

    `breaks` are prices by count, each `[from count, price of one in thousandths of the smallest coin]`, the counts rising; all in
    the supplier's `currency`. Bought are `pack_size` pieces at a time and at least `least_count` of them.
    """

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="offers")
    code = models.CharField("order code", max_length=60)
    text = models.CharField("description", max_length=200, blank=True)
    part = models.ForeignKey(Part, on_delete=models.SET_NULL, null=True, blank=True, related_name="offers")
    currency = models.CharField(max_length=3)
    breaks = models.JSONField("prices by count")
    unit_milli = models.PositiveBigIntegerField("price of one at the smallest count")
    pack_size = models.PositiveIntegerField(default=1)
    least_count = models.PositiveIntegerField(default=1)
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)
    is_offered = models.BooleanField(default=True)
    price_list = models.ForeignKey(PriceList, on_delete=models.PROTECT, null=True, blank=True, related_name="offers")
    search = models.CharField(max_length=260, editable=False, default="", blank=True)

    class Meta:
        ordering: ClassVar = ["supplier", "code"]
        indexes: ClassVar = [models.Index(fields=["supplier", "part"], name="offer_linked", condition=Q(is_offered=True))]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["supplier", "code"], name="one_offer_a_code"),
            models.CheckConstraint(condition=Q(pack_size__gte=1) & Q(least_count__gte=1), name="an_offer_sells_something"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.text}".strip()

    def unit_milli_at(self, count: int) -> int:
        """Price of one when `count` are bought at once; thousandths of the smallest coin of the supplier's currency."""
        return max((step for step in self.breaks if step[0] <= count), key=lambda step: step[0], default=self.breaks[0])[1]

    def price_milli(self, count: int) -> int:
        return self.unit_milli_at(count) * count

    @staticmethod
    def in_shop_money(milli: int, exchange_ppm: int) -> Fraction:
        """A sum of theirs in the shop's money, still in thousandths of the smallest coin (same count of decimals assumed)."""
        return Fraction(milli * exchange_ppm, 1_000_000)
