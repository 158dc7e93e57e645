"""What is in the drawers. Movements are the truth; balances are their sum, kept for speed and for the never-negative rule."""

from datetime import date
from fractions import Fraction
from typing import Any, ClassVar

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.models.cards import Condition, Drawer, Kind, Supplier, Technology
from shop.models import Customer
from shop.search_text import fold

# Columns of cards that are sums of the ledger.
SUMS = frozenset({"on_hand", "held"})


class PartQuerySet(models.QuerySet["Part"]):
    def matching(self, text: str) -> "PartQuerySet":
        found = self
        for word in fold(text).split():
            found = found.filter(search__contains=word)
        return found

    def with_stock(self) -> "PartQuerySet":
        """Adds `free`: what lies there and isn't held for a job. `on_hand` and `held` are on the card."""
        return self.annotate(free=F("on_hand") - F("held"))

    def short(self) -> "PartQuerySet":
        """Kept parts of which fewer are free than wanted, as `part_short` has them."""
        return self.filter(in_use=True, on_hand__lt=F("held") + F("minimum"))


_MAKES = {code: str(label).lower() for code, label in Technology.choices}


def title_of(marking: str, technology: str, description: str) -> str:
    """What a part is called, from three columns of its card."""
    words = (marking, _MAKES.get(technology, technology) if technology else "", description)
    return " ".join(word for word in words if word)


class Part(models.Model):
    """A kind of part. `marking`, as the trade writes it, is the truth; `value_si`, `volts`, `watts` are for finding.

    `on_hand` and `held` are the sums of the shop's own lots, written with the balances; a customer's own parts are not in them.
    """

    kind = models.CharField(max_length=12, choices=Kind)
    technology = models.CharField(max_length=20, choices=Technology, blank=True, default=Technology.UNKNOWN)
    marking = models.CharField("value or type as written", max_length=80)
    description = models.CharField(max_length=160, blank=True)
    value_si = models.FloatField(null=True, blank=True, editable=False)
    volts = models.FloatField("rated V", null=True, blank=True)
    watts = models.FloatField("rated W", null=True, blank=True)
    tolerance_low = models.FloatField("tolerance, lower %", null=True, blank=True)
    tolerance_high = models.FloatField("tolerance, upper %", null=True, blank=True)
    safety_class = models.CharField(max_length=8, blank=True)
    polarised = models.BooleanField(default=False)
    list_price_minor = models.PositiveBigIntegerField("list price", null=True, blank=True)
    minimum = models.PositiveIntegerField("order when fewer than", default=0)
    in_the_hour = models.BooleanField("folded into the hour, never a line of its own", default=False)
    in_use = models.BooleanField(default=True)
    on_hand = models.IntegerField(default=0, editable=False)
    held = models.IntegerField(default=0, editable=False)
    search = models.CharField(max_length=400, editable=False, db_index=True)
    version = models.PositiveIntegerField(default=1)

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["kind", "value_si", "marking", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["kind", "value_si", "marking", "id"], name="part_in_order"),
            models.Index(fields=["value_si", "marking", "id"], name="part_by_marking"),
            models.Index(fields=["volts", "watts", "id"], name="part_by_rating"),
            models.Index(fields=["on_hand", "id"], name="part_by_on_hand"),
            models.Index(fields=["held", "id"], name="part_by_held"),
            models.Index(F("on_hand") - F("held"), F("id"), name="part_by_free"),
            models.Index(fields=["kind", "value_si", "marking", "id"], name="part_here", condition=Q(on_hand__gt=0)),
            models.Index(
                fields=["kind", "value_si", "marking", "id"],
                name="part_short",
                condition=Q(in_use=True, on_hand__lt=F("held") + F("minimum")),
            ),
            models.Index(fields=["kind", "value_si", "marking", "id"], name="part_not_kept", condition=Q(in_use=False)),
            models.Index(fields=["kind", "value_si", "marking", "id"], name="part_of_class", condition=~Q(safety_class="")),
            models.Index(fields=["technology", "kind", "value_si", "marking", "id"], name="part_by_make"),
        ]

    def __str__(self) -> str:
        return self.title

    def save(self, *args: object, **kwargs: object) -> None:
        self.search = fold(f"{self.marking} {self.description} {self.get_kind_display()} {self.get_technology_display()}")[:400]
        super().save(*args, **_without_sums(self, kwargs))  # type: ignore[arg-type]

    @property
    def title(self) -> str:
        """`0.047 µF 630 V film`, as on a drawer label."""
        return title_of(self.marking, self.technology, self.description)


def _without_sums(row: models.Model, asked: dict[str, Any]) -> dict[str, Any]:
    """A card that somebody corrects was read before parts moved: its sums are the ledger's to write."""
    if row._state.adding or asked.get("update_fields") is not None:
        return asked
    names = [field.name for field in row._meta.concrete_fields if not field.primary_key and field.name not in SUMS]
    return {**asked, "update_fields": names}


class Lot(models.Model):
    """Parts received together: their cost, supplier, date code and condition stay with them into the set.

    `on_hand` is the sum over all drawers, written with the balances.
    """

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="lots")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="lots", null=True, blank=True)
    received_on = models.DateField()
    date_code = models.CharField(max_length=40, blank=True)
    condition = models.CharField("class", max_length=8, choices=Condition, default=Condition.NEW)
    unit_cost_milli = models.PositiveBigIntegerField("cost each, thousandths of the smallest coin")
    return_until_on = models.DateField(null=True, blank=True)
    blocked_reason = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=200, blank=True)
    order_line = models.ForeignKey("inventory.OrderLine", on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    split_from = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="split_off")
    mark = models.CharField("mark on a part that is kept as an individual", max_length=20, blank=True)
    matched = models.ForeignKey("inventory.MatchedSet", on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    owner = models.ForeignKey(
        Customer,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="own_parts",
        verbose_name="customer whose parts these are",
    )
    on_hand = models.IntegerField(default=0, editable=False)

    class Meta:
        ordering: ClassVar = ["received_on", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["on_hand", "id"], name="lot_by_on_hand"),
            models.Index(fields=["id"], name="lot_here", condition=Q(on_hand__gt=0)),
            models.Index(fields=["received_on", "id"], name="lot_by_day"),
            models.Index(fields=["date_code", "id"], name="lot_by_date_code"),
            models.Index(fields=["condition", "id"], name="lot_by_class"),
            models.Index(fields=["unit_cost_milli", "id"], name="lot_by_cost"),
            models.Index(fields=["blocked_reason", "id"], name="lot_blocked", condition=~Q(blocked_reason="")),
            models.Index(fields=["return_until_on", "id"], name="lot_by_return_day"),
            models.Index(fields=["supplier", "received_on"], name="lot_by_supplier_and_day"),
            models.Index(fields=["mark", "id"], name="lot_by_mark", condition=~Q(mark="")),
        ]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["mark"], condition=~Q(mark=""), name="one_individual_a_mark"),
            models.CheckConstraint(
                condition=Q(owner__isnull=True) | Q(unit_cost_milli=0), name="a_customers_own_part_costs_nothing"
            ),
        ]

    def __str__(self) -> str:
        return f"lot {self.pk} of {self.received_on}"

    def save(self, *args: object, **kwargs: object) -> None:
        super().save(*args, **_without_sums(self, kwargs))  # type: ignore[arg-type]

    @property
    def is_individual(self) -> bool:
        return bool(self.mark)

    @property
    def unit_cost_minor(self) -> Fraction:
        return Fraction(self.unit_cost_milli, 1000)

    def can_go_back(self, day: date) -> bool:
        return self.return_until_on is not None and day <= self.return_until_on


class MovementKind(models.TextChoices):
    RECEIVED = "received", "Received"
    FITTED = "fitted", "Fitted"
    TAKEN_OUT = "taken_out", "Taken out, back in the drawer"
    MOVED_OUT = "moved_out", "Moved to another drawer"
    MOVED_IN = "moved_in", "Moved from another drawer"
    SPLIT_OUT = "split_out", "Set apart as an individual"
    SPLIT_IN = "split_in", "Set apart from its lot"
    SCRAPPED = "scrapped", "Scrapped"
    COUNTED = "counted", "Count corrected"
    SENT_BACK = "sent_back", "Sent back to the supplier"


class Movement(models.Model):
    """One line of the stock ledger. Never changed, never deleted; `count` is signed: into the drawer is positive."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements")
    drawer = models.ForeignKey(Drawer, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=MovementKind)
    count = models.IntegerField()
    reference = models.CharField("for", max_length=60, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        indexes: ClassVar = [
            models.Index(fields=["kind", "id"], name="movement_by_kind"),
            models.Index(fields=["reference", "id"], name="movement_by_reference"),
            models.Index(fields=["at", "id"], name="movement_by_moment"),
        ]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(count=0), name="a_movement_moves")]

    def __str__(self) -> str:
        return f"{self.kind} {self.count:+d}"


class Balance(models.Model):
    """On hand of a lot in a drawer: the sum of its movements, written with them. The database refuses a negative one."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="balances")
    drawer = models.ForeignKey(Drawer, on_delete=models.PROTECT, related_name="balances")
    on_hand = models.IntegerField(default=0)
    held = models.IntegerField(default=0)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["drawer", "lot"], name="balance_lying", condition=Q(on_hand__gt=0))]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lot", "drawer"], name="one_balance_a_lot_and_drawer"),
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="on_hand_never_negative"),
            models.CheckConstraint(condition=Q(held__gte=0) & Q(held__lte=F("on_hand")), name="held_within_on_hand"),
        ]

    def __str__(self) -> str:
        return f"{self.on_hand} ({self.held} held)"

    @property
    def free(self) -> int:
        return self.on_hand - self.held


class Hold(models.Model):
    """Parts kept for a job that are still in the drawer. Ends when they are fitted or let go."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="holds")
    drawer = models.ForeignKey(Drawer, on_delete=models.PROTECT, related_name="holds")
    count = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    reference = models.CharField("for", max_length=60)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_why = models.CharField(max_length=10, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]
        indexes: ClassVar = [
            models.Index(fields=["lot", "drawer"], name="hold_open", condition=Q(ended_at__isnull=True)),
            models.Index(fields=["reference", "id"], name="hold_by_reference"),
        ]

    def __str__(self) -> str:
        return f"{self.count} for {self.reference}"

    @property
    def is_open(self) -> bool:
        return self.ended_at is None
