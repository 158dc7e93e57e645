"""Positions and the change log: the append-only list of entries that everything else is drawn from."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import Condition, Hold, Lot, Movement, Part
from jobs.models.job import Job


class Position(models.Model):
    """One place in the circuit, with what was called for when the job began: later edits of the model don't rewrite jobs."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="positions")
    designator = models.CharField(max_length=16)
    role = models.CharField(max_length=30, default="other")
    called = models.CharField("called for", max_length=80, blank=True)
    order = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering: ClassVar = ["order", "pk"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["job", "designator"], name="one_designator_a_job")]
        indexes: ClassVar = [models.Index(fields=["role", "id"], name="position_by_role")]

    def __str__(self) -> str:
        return self.designator


class EntryKind(models.TextChoices):
    FOUND = "found", "Found"
    MEASURED = "measured", "Measured"
    VOLTAGE = "voltage", "Voltage under power"
    DECIDED = "decided", "Decided"
    FITTED = "fitted", "Fitted"
    TAKEN_OUT = "taken_out", "Taken out again"
    WIRING = "wiring", "Wiring finding"
    POLARITY = "polarity", "Polarity confirmed"
    CALLED_FOR = "called_for", "Called-for value amended"
    NOTE = "note", "Note"


class Point(models.TextChoices):
    """Where a voltage was measured. At a valve against the chassis or B-; across the part elsewhere."""

    ACROSS = "across", "across the part"
    PLATE = "plate", "plate"
    SCREEN = "screen", "screen"
    CATHODE = "cathode", "cathode"
    GRID = "grid", "control grid"
    HEATER = "heater", "across the heater"
    CHASSIS = "chassis", "to chassis or B-"


class Verdict(models.TextChoices):
    WITHIN = "within", "within tolerance"
    DRIFTED = "drifted", "drifted"
    OPEN = "open", "open"
    SHORTED = "shorted", "shorted"
    LEAKY = "leaky", "leaky"
    WRONG_PART = "wrong_part", "wrong part"
    NOT_MEASURED = "not_measured", "not measured"


class Decision(models.TextChoices):
    KEEP = "keep", "leave in"
    REPLACE = "replace", "replace"
    REPAIR = "repair", "repair in place"
    REMOVE = "remove", "remove"


class LogEntry(models.Model):
    """One entry. Never edited: `corrects` names the entry that this one replaces, `withdrawn` says that it only takes it back.

    `at` and `person` say who and when; `seq` counts the entries of a job from 1 without gaps.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="entries")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    seq = models.PositiveIntegerField()
    kind = models.CharField(max_length=12, choices=EntryKind)
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by")
    withdrawn = models.BooleanField(default=False)
    text = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)

    value_si = models.FloatField(null=True, blank=True)
    point = models.CharField(max_length=8, choices=Point, blank=True)
    in_circuit = models.BooleanField(default=False)
    verdict = models.CharField(max_length=14, choices=Verdict, blank=True)
    deviation_bp = models.IntegerField(null=True, blank=True)
    reasons = models.TextField(blank=True)

    decision = models.CharField(max_length=10, choices=Decision, blank=True)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    hold = models.OneToOneField(Hold, on_delete=models.PROTECT, null=True, blank=True, related_name="log_entry")
    count = models.PositiveIntegerField(default=1)
    unit_price_minor = models.PositiveBigIntegerField(null=True, blank=True)
    usual_price_minor = models.PositiveBigIntegerField("what our pricing said, where another was set", null=True, blank=True)
    price_reason = models.CharField("why another price was set", max_length=200, blank=True)

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="log_entries")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="log_entry")
    part_class = models.CharField(max_length=8, choices=Condition, blank=True)
    charged = models.BooleanField(default=True)
    not_charged_reason = models.CharField(max_length=200, blank=True)
    answer = models.CharField(max_length=4, blank=True)
    override_reason = models.CharField(max_length=300, blank=True)
    override_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    takes_out = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="taken_out_by")
    scrapped = models.BooleanField(default=False)

    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "log entries"
        ordering: ClassVar = ["job", "seq"]
        indexes: ClassVar = [models.Index(fields=["id"], name="priced_by_hand", condition=Q(usual_price_minor__isnull=False))]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["job", "seq"], name="one_entry_a_seq"),
            models.CheckConstraint(
                condition=~Q(kind="fitted") | Q(movement__isnull=False, lot__isnull=False, part__isnull=False, withdrawn=False),
                name="a_fitted_part_is_one_movement",
            ),
            models.CheckConstraint(
                condition=~Q(kind="taken_out") | Q(takes_out__isnull=False), name="what_is_taken_out_was_fitted"
            ),
            models.CheckConstraint(condition=Q(charged=True) | ~Q(not_charged_reason=""), name="not_charged_says_why"),
        ]

    def __str__(self) -> str:
        return f"{self.job} {self.seq} {self.kind} {self.text}"

    @property
    def price_minor(self) -> int:
        """Price of all the parts of this entry; 0 where they are not charged."""
        return (self.unit_price_minor or 0) * self.count if self.charged else 0
