"""Lots that turned out bad, and what is claimed back from their suppliers."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.cards import Supplier
from inventory.models.stock import Lot


class BadLot(models.Model):
    """A lot that nothing more is taken from. `reference` names the job whose failed part showed it. Lifted with a reason."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="found_bad")
    why = models.CharField("what is wrong with it", max_length=200)
    danger = models.CharField("what may happen in a set", max_length=300, blank=True)
    advice = models.CharField("what the owner of a set is told to do", max_length=300, blank=True)
    reference = models.CharField("shown by", max_length=60, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    lifted_why = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot"], condition=Q(lifted_at__isnull=True), name="a_lot_is_bad_once"),
            models.CheckConstraint(condition=Q(lifted_at__isnull=True) | ~Q(lifted_why=""), name="lifting_says_why"),
        ]

    def __str__(self) -> str:
        return f"bad {self.lot}"


class SupplierClaim(models.Model):
    """Parts of a lot that the shop claims back from its supplier. `cost_milli` is what they cost the shop, all of them."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="claims")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="supplier_claims")
    count = models.PositiveIntegerField()
    cost_milli = models.PositiveBigIntegerField("what they cost, thousandths of the smallest coin")
    reason = models.CharField(max_length=200)
    reference = models.CharField("job it is for", max_length=60, blank=True)
    until_on = models.DateField("last day of the supplier's cover", null=True, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(count__gte=1), name="a_supplier_claim_claims_something")]

    def __str__(self) -> str:
        return f"claim on {self.supplier} for {self.count} of {self.lot}"


class SupplierClaimKind(models.TextChoices):
    ASKED = "asked", "Asked"
    SENT_BACK = "sent_back", "Parts sent back"
    CREDITED = "credited", "Credited"
    REPLACED = "replaced", "Replaced"
    REFUSED = "refused", "Refused"
    DROPPED = "dropped", "Not followed up"


class SupplierClaimStep(models.Model):
    """What happened with it. `amount_minor` is money that came back, in the shop's currency. Append-only."""

    claim = models.ForeignKey(SupplierClaim, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=10, choices=SupplierClaimKind)
    amount_minor = models.PositiveBigIntegerField(default=0)
    note = models.CharField(max_length=200, blank=True)
    on = models.DateField("day")
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.claim}: {self.kind}"
