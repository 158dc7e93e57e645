"""Orders to suppliers, what came in on them, and the suppliers' bills for it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.lookups import IsNull

from inventory.models.cards import Supplier
from inventory.models.offers import Offer
from inventory.models.stock import Part


class OrderState(models.TextChoices):
    DRAFT = "draft", "Being written"
    SENT = "sent", "Sent"
    CLOSED = "closed", "Closed"
    DROPPED = "dropped", "Dropped"


class Order(models.Model):
    """An order to one supplier. Its lines change while it is being written; once sent it is numbered and stands as it is."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=8, choices=OrderState, default=OrderState.DRAFT)
    number = models.CharField(max_length=24, blank=True)
    currency = models.CharField(max_length=3)
    exchange_ppm = models.PositiveBigIntegerField(default=1_000_000)
    carriage_minor = models.PositiveBigIntegerField(default=0)
    note = models.TextField("for the supplier", blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    expected_on = models.DateField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["state", "id"], name="order_by_state")]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["number"], condition=~Q(number=""), name="one_order_a_number"),
        ]

    def __str__(self) -> str:
        return self.number or f"draft to {self.supplier}"

    @property
    def is_draft(self) -> bool:
        return self.state == OrderState.DRAFT


class OrderLine(models.Model):
    """`count` pieces at `unit_milli` each (thousandths of the smallest coin of the order's currency).

    What came in is the sum of the lots received on this line; `dropped_count` will not come any more. The rest is on back order.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="order_lines")
    offer = models.ForeignKey(Offer, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    code = models.CharField("their order code", max_length=60, blank=True)
    text = models.CharField(max_length=200)
    count = models.PositiveIntegerField()
    pack_size = models.PositiveIntegerField(default=1)
    unit_milli = models.PositiveBigIntegerField()
    for_what = models.CharField("for", max_length=200, blank=True)
    needed_on = models.DateField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    dropped_count = models.PositiveIntegerField(default=0)
    dropped_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(count__gte=1), name="an_order_line_orders_something"),
            models.CheckConstraint(condition=Q(dropped_count__lte=models.F("count")), name="no_more_dropped_than_ordered"),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.text}"


# What waits to be accepted before the accepted. Where there is no moment or day is said first: databases sort what is missing
# differently, and an index serves an order only where it needs no word about that.
BILLS_IN_ORDER = (
    IsNull(F("accepted_at"), True).desc(),
    F("accepted_at").desc(),
    IsNull(F("due_on"), True).asc(),
    F("due_on").asc(),
    F("billed_on").desc(),
    F("id").desc(),
)


class SupplierBill(models.Model):
    """A supplier's invoice as it came, in the supplier's currency. Sums without and with tax, as printed on it."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="bills")
    number = models.CharField(max_length=60)
    billed_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)
    currency = models.CharField(max_length=3)
    carriage_minor = models.PositiveBigIntegerField(default=0)
    net_minor = models.PositiveBigIntegerField()
    tax_minor = models.PositiveBigIntegerField(default=0)
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    accepted_why = models.CharField("why it was accepted with differences", max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-billed_on", "-pk"]
        indexes: ClassVar = [
            models.Index(*BILLS_IN_ORDER, name="bill_in_order"),
            models.Index(fields=["id"], name="bill_open", condition=Q(accepted_at__isnull=True)),
        ]
        constraints: ClassVar = [models.UniqueConstraint(fields=["supplier", "number"], name="one_bill_a_number")]

    def __str__(self) -> str:
        return f"{self.number} of {self.supplier}"


class SupplierBillLine(models.Model):
    """What the bill charges for one line of an order."""

    bill = models.ForeignKey(SupplierBill, on_delete=models.CASCADE, related_name="lines")
    order_line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="billed")
    text = models.CharField(max_length=200)
    count = models.PositiveIntegerField()
    unit_milli = models.PositiveBigIntegerField()

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.count} x {self.text}"
