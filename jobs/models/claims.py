"""Sets that came back under warranty: what was found, what was proposed, what a person decided."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.job import Job
from jobs.models.log import LogEntry, Position
from jobs.models.warranty import Warranty, WarrantyLine


class ClaimAnswer(models.TextChoices):
    COVERED = "covered", "Covered"
    PARTLY = "partly", "Partly covered"
    CHARGEABLE = "chargeable", "Chargeable"


class SameFault(models.TextChoices):
    YES = "yes", "the fault that was repaired"
    NO = "no", "another fault"
    UNSURE = "unsure", "can't be told yet"


class Cause(models.TextChoices):
    """Why it came back. Causes are of things and work, never of a person."""

    PART = "part", "a part that we fitted failed"
    WIRING = "wiring", "our wiring or a joint"
    DIAGNOSIS = "diagnosis", "the fault wasn't found the first time"
    AGE = "age", "an old part that was left in failed"
    TRANSPORT = "transport", "transport or a fall"
    USE = "use", "how it was used or what was done to it since"
    UNKNOWN = "unknown", "not known"


class Claim(models.Model):
    """A job on a set that came back under the warranty of an earlier one (`job.warranty_of`)."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="claim")
    warranty = models.ForeignKey(Warranty, on_delete=models.PROTECT, related_name="claims")
    claimed_on = models.DateField("day the customer claimed it")
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"claim {self.job}"


class ClaimFinding(models.Model):
    """One thing that was found on a claim, and what it has to do with what the shop stands by. Append-only.

    `line` is the line of the warranty that it is about, None where none is; `void_rule` the rule that ends the cover, if one was
    broken. A later finding `corrects` an earlier one, or only takes it back (`withdrawn`).
    """

    claim = models.ForeignKey(Claim, on_delete=models.PROTECT, related_name="findings")
    line = models.ForeignKey(WarrantyLine, on_delete=models.PROTECT, null=True, blank=True, related_name="claimed")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    entry = models.ForeignKey("jobs.LogEntry", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    text = models.CharField("what was found", max_length=300)
    same_fault = models.CharField(max_length=6, choices=SameFault, default=SameFault.UNSURE)
    cause = models.CharField(max_length=10, choices=Cause, default=Cause.UNKNOWN)
    void_rule = models.CharField(max_length=300, blank=True)
    corrects = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by")
    withdrawn = models.BooleanField(default=False)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return self.text


class ClaimDecision(models.Model):
    """What a person decided, beside what was proposed from the log as it stood. Append-only; the newest counts.

    `rules` names the set of rules that proposed, `case` the facts it judged, `proposal` its answer with reasons, so that the
    proposal can be made again years later; `finding_count` and `log_seq` say how far findings and the claim's log went then.
    `goodwill`: the shop bears what it doesn't owe.
    """

    claim = models.ForeignKey(Claim, on_delete=models.PROTECT, related_name="decisions")
    proposed = models.CharField(max_length=10, choices=ClaimAnswer)
    decided = models.CharField(max_length=10, choices=ClaimAnswer)
    goodwill = models.BooleanField(default=False)
    why = models.CharField(max_length=300, blank=True)
    rules = models.CharField(max_length=20)
    case = models.JSONField()
    proposal = models.JSONField()
    finding_count = models.PositiveIntegerField()
    log_seq = models.PositiveIntegerField()
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(proposed=models.F("decided")) & Q(goodwill=False) | ~Q(why=""), name="another_decision_says_why"
            )
        ]

    def __str__(self) -> str:
        return f"{self.claim}: {self.decided}"


class CoveredPlace(models.Model):
    """A position of the claim's job (or its work, without a position) that the decision covers: nothing is charged there."""

    decision = models.ForeignKey(ClaimDecision, on_delete=models.PROTECT, related_name="covered_places")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    share_percent = models.PositiveSmallIntegerField("share that the shop bears, %", default=100)
    reason = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(share_percent__gte=1) & Q(share_percent__lte=100), name="a_share_is_a_part")
        ]

    def __str__(self) -> str:
        return self.reason


class BadLotLetter(models.Model):
    """A letter to the owner of a set that a bad lot is in, as it went out, or what the owner answered. Append-only."""

    bad_lot = models.ForeignKey("inventory.BadLot", on_delete=models.PROTECT, related_name="letters")
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, related_name="bad_lot_letters")
    sent_on = models.DateField()
    how = models.CharField("sent by", max_length=80)
    to_whom = models.CharField("name and address it went to", max_length=300)
    answer = models.CharField("what the owner answered", max_length=300, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.bad_lot}: {self.to_whom}"
