"""One stay of a set in the workshop."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from jobs.models.sets import RadioSet
from shop.models import Bench, Customer


class Stage(models.TextChoices):
    """Where a job is in the flow; it changes through the acts of `jobs.services.stages` only."""

    TAKEN_IN = "taken_in", "Taken in"
    INSPECTING = "inspecting", "On inspection"
    AWAITING_CONSENT = "awaiting_consent", "Estimate with the customer"
    AGREED = "agreed", "Agreed, waiting for the bench"
    REPAIRING = "repairing", "On the bench"
    PROVING = "proving", "Second look and safety"
    SOAKING = "soaking", "On soak"
    READY = "ready", "Ready to collect"
    HANDED_OVER = "handed_over", "Handed over"
    DECLINED = "declined", "Declined, to be put back"
    RETURNED = "returned", "Returned unrepaired"
    SOLD = "sold", "Sold uncollected"


OPEN_STAGES = tuple(stage for stage in Stage if stage not in (Stage.HANDED_OVER, Stage.RETURNED, Stage.SOLD))


class Goal(models.TextChoices):
    WORKING = "working", "Working order"
    SYMPATHETIC = "sympathetic", "Sympathetic restoration"
    MUSEUM = "museum", "Museum"
    DISPLAY = "display", "Display only"


class PhotoConsent(models.TextChoices):
    """What the customer agreed to about photos of the set."""

    UNASKED = "", "not asked yet"
    RECORD = "record", "for the record of the work only"
    SHOW = "show", "may be shown to others, without a name"
    NONE = "none", "none but what the proof of the work needs"


class WaitsFor(models.TextChoices):
    NOTHING = "", "nothing"
    APPROVAL = "approval", "approval"
    PART = "part", "a part"
    PAYMENT = "payment", "payment"
    SOAK = "soak", "the soak"
    PERSON = "person", "somebody"


class JobQuerySet(models.QuerySet["Job"]):
    def open(self) -> "JobQuerySet":
        return self.at_stages(*OPEN_STAGES)

    def at_stages(self, *stages: str) -> "JobQuerySet":
        """By their keys: few of all jobs stand at these stages, which a planner can't know, and would walk the years instead."""
        return self.filter(pk__in=Job.objects.filter(stage__in=stages).order_by().values("pk"))

    def with_heads(self) -> "JobQuerySet":
        """All that a list line shows, in one query."""
        return self.select_related("radio__model", "customer", "bench", "taken_in_by")


class Job(models.Model):
    number = models.CharField(max_length=24, unique=True)
    radio = models.ForeignKey(RadioSet, on_delete=models.PROTECT, related_name="jobs", verbose_name="set")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="jobs")
    stage = models.CharField(max_length=20, choices=Stage, default=Stage.TAKEN_IN, db_index=True)
    goal = models.CharField(max_length=12, choices=Goal, default=Goal.WORKING)
    fault = models.TextField("fault in the customer's own words")
    cabinet = models.CharField("cabinet condition", max_length=300, blank=True)
    may_drill = models.BooleanField("may drill", default=False)
    may_rewire = models.BooleanField("may rewire", default=False)
    may_fit_polarised_plug = models.BooleanField("may fit a polarised plug", default=False)
    may_fit_fuse = models.BooleanField("may add a fuse", default=False)
    old_parts_back = models.BooleanField("old parts wanted back", default=False)
    photo_consent = models.CharField("photos", max_length=8, choices=PhotoConsent, default=PhotoConsent.UNASKED, blank=True)
    minimum_fee_minor = models.PositiveBigIntegerField("minimum bench fee agreed to", default=0)
    decline_fee_minor = models.PositiveBigIntegerField("fee agreed to, should the estimate be declined", default=0)
    promised_on = models.DateField("promised for", null=True, blank=True)
    stands_at = models.CharField("where it stands", max_length=80, blank=True)
    bench = models.ForeignKey(Bench, on_delete=models.PROTECT, null=True, blank=True, related_name="jobs")
    waits_for = models.CharField(max_length=10, choices=WaitsFor, default=WaitsFor.NOTHING, blank=True)
    waits_note = models.CharField(max_length=160, blank=True)
    waits_since_at = models.DateTimeField(null=True, blank=True)
    warranty_of = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="claims")
    taken_in_at = models.DateTimeField()
    taken_in_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    billed = models.BooleanField("stands on an invoice", default=False, editable=False)
    log_seq = models.PositiveIntegerField(default=0, editable=False)
    version = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["stage", "promised_on"], name="job_by_promise")]

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        return self.stage in OPEN_STAGES

    @property
    def is_transformerless(self) -> bool:
        return self.radio.model.supply_kind == "transformerless"


class CameWith(models.Model):
    """What came in with the set, counted."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="came_with")
    what = models.CharField(max_length=80)
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(count__gte=1), name="something_came_with_it")]

    def __str__(self) -> str:
        return f"{self.count} x {self.what}"


class JobAct(models.Model):
    """One named act that moved a job on (or, as an undo, back). Append-only."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="acts")
    act = models.CharField(max_length=40)
    from_stage = models.CharField(max_length=20, choices=Stage, blank=True)
    to_stage = models.CharField(max_length=20, choices=Stage)
    note = models.CharField(max_length=300, blank=True)
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.job}: {self.act}"


class NoticeKind(models.TextChoices):
    COLLECT = "collect", "Please collect"
    SALE = "sale", "Intention to sell"


class CollectionNotice(models.Model):
    """A notice to the owner of a set that is ready and not collected. Append-only."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="notices")
    kind = models.CharField(max_length=8, choices=NoticeKind)
    sent_on = models.DateField()
    how = models.CharField("sent by", max_length=80)
    to_whom = models.CharField("name and address it went to", max_length=300)
    names_day_on = models.DateField("day it names", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.job}: {self.kind}"
