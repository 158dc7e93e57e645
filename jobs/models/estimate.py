"""Estimates by version, the private link to them, consents and deposits."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.job import Job
from jobs.models.labour import FlatTask
from jobs.models.log import LogEntry, Position
from shop.models import TaxRounding


class EstimateState(models.TextChoices):
    DRAFT = "draft", "Draft"
    SENT = "sent", "With the customer"
    AGREED = "agreed", "Agreed"
    DECLINED = "declined", "Declined"
    SUPERSEDED = "superseded", "Replaced by a newer version"


class Estimate(models.Model):
    """One version. As a draft its lines may change; once sent it is frozen with the terms it was reckoned under."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="estimates")
    number = models.PositiveSmallIntegerField("version")
    state = models.CharField(max_length=12, choices=EstimateState, default=EstimateState.DRAFT)
    currency = models.CharField(max_length=3)
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(max_length=4, choices=TaxRounding, default=TaxRounding.RATE)
    allowance_bp = models.PositiveIntegerField(default=0)
    note = models.TextField("for the customer", blank=True)
    terms = models.TextField("the shop's terms when it was sent", blank=True)
    low_minor = models.PositiveBigIntegerField(default=0)
    high_minor = models.PositiveBigIntegerField(default=0)
    digest = models.CharField(max_length=64, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    because = models.CharField("what was found that asks for this version", max_length=500, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    stands_until_on = models.DateField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["job", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["job", "number"], name="one_estimate_a_version"),
            models.UniqueConstraint(fields=["job"], condition=Q(state="draft"), name="one_draft_a_job"),
            models.CheckConstraint(condition=Q(high_minor__gte=models.F("low_minor")), name="a_range_runs_upwards"),
        ]

    def __str__(self) -> str:
        return f"{self.job}, version {self.number}"

    @property
    def is_draft(self) -> bool:
        return self.state == EstimateState.DRAFT

    @property
    def is_range(self) -> bool:
        return self.low_minor != self.high_minor


class EstimateLineKind(models.TextChoices):
    PART = "part", "Part"
    LABOUR = "labour", "Labour"
    FLAT = "flat", "Flat task"
    FEE = "fee", "Fee"


class EstimateLine(models.Model):
    """`low_minor`..`high_minor` as priced (with or without tax, as the estimate says). `from_log` lines are redrawn."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="lines")
    order = models.PositiveIntegerField(default=0)
    kind = models.CharField(max_length=6, choices=EstimateLineKind)
    position = models.ForeignKey(Position, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    text = models.CharField(max_length=200)
    count = models.PositiveIntegerField(default=1)
    minutes = models.PositiveIntegerField(default=0)
    unit_minor = models.PositiveBigIntegerField(default=0)
    low_minor = models.PositiveBigIntegerField()
    high_minor = models.PositiveBigIntegerField()
    tax_bp = models.PositiveIntegerField(default=0)
    from_log = models.BooleanField(default=False)
    tier = models.PositiveSmallIntegerField("smallest alternative that holds it; 0: all", default=0)
    task = models.ForeignKey(FlatTask, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["order", "pk"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(high_minor__gte=models.F("low_minor")), name="a_line_runs_upwards")
        ]

    def __str__(self) -> str:
        return self.text


class Alternative(models.Model):
    """One of the ways a version offers, each holding all that the smaller ones hold: repair only, recommended, full restoration.

    An estimate without alternatives is answered as a whole. Sums are those of its lines with `tier` up to this one, with tax.
    """

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="alternatives")
    tier = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    text = models.CharField("what it gives the customer", max_length=300, blank=True)
    low_minor = models.PositiveBigIntegerField(default=0)
    high_minor = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["tier"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["estimate", "tier"], name="one_alternative_a_tier"),
            models.CheckConstraint(condition=Q(tier__gte=1), name="an_alternative_has_a_tier"),
        ]

    def __str__(self) -> str:
        return self.name


class PositionTier(models.Model):
    """What the log decided at a position belongs to this alternative and the larger ones."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="position_tiers")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, related_name="+")
    tier = models.PositiveSmallIntegerField()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["estimate", "position"], name="one_tier_a_position")]

    def __str__(self) -> str:
        return f"{self.position}: {self.tier}"


class Evidence(models.Model):
    """A finding in the log that a version gives as its reason; the customer sees it with its photos."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="evidence")
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["entry"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["estimate", "entry"], name="one_finding_once")]

    def __str__(self) -> str:
        return f"{self.entry}"


class ApprovalLink(models.Model):
    """A private address of one estimate version. Only the token's hash is kept."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="links")
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"link to {self.estimate}"


class ConsentAnswer(models.TextChoices):
    AGREED = "agreed", "Agreed"
    DECLINED = "declined", "Declined"


class ConsentHow(models.TextChoices):
    LINK = "link", "on the private page"
    SPOKEN = "spoken", "by telephone"
    IN_PERSON = "in_person", "in person"
    WRITTEN = "written", "in writing"


class Consent(models.Model):
    """The customer's recorded yes or no to a sum: who, when, how, to what exactly. Append-only.

    `ceiling_minor` is the whole sum agreed to, tax included. Without an estimate: a sum agreed at the counter, such as a fee.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="consents")
    estimate = models.ForeignKey(Estimate, on_delete=models.PROTECT, null=True, blank=True, related_name="consents")
    answer = models.CharField(max_length=8, choices=ConsentAnswer)
    how = models.CharField(max_length=10, choices=ConsentHow)
    who = models.CharField(max_length=120)
    number_called = models.CharField(max_length=40, blank=True)
    to_what = models.CharField(max_length=300)
    digest = models.CharField(max_length=64, blank=True)
    ceiling_minor = models.PositiveBigIntegerField()
    allowance_bp = models.PositiveIntegerField(default=0)
    tier = models.PositiveSmallIntegerField("alternative agreed to; 0: the whole estimate", default=0)
    cancellation_told = models.BooleanField("was told of the right to cancel", default=False)
    begin_at_once = models.BooleanField("asked for work to begin before that right ends", default=False)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["estimate"], name="one_answer_an_estimate"),
        ]

    def __str__(self) -> str:
        return f"{self.job}: {self.answer} by {self.who}"


class PayBy(models.TextChoices):
    CASH = "cash", "Cash"
    CARD = "card", "Card"
    TRANSFER = "transfer", "Bank transfer"
    CHEQUE = "cheque", "Cheque"


class Deposit(models.Model):
    """Money taken before the bill is made, or given back. Append-only; what is left is set off on the invoice."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="deposits")
    amount_minor = models.PositiveBigIntegerField()
    given_back = models.BooleanField(default=False)
    how = models.CharField(max_length=10, choices=PayBy)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(amount_minor__gt=0), name="a_deposit_is_money")]

    def __str__(self) -> str:
        return f"deposit on {self.job}"
