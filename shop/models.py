"""The ground floor: who the shop is, who works there, where they work, for whom, and the counters that number its papers."""

import uuid
from typing import ClassVar

from django.contrib.auth.models import AbstractUser
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from shop.search_text import fold


class Role(models.TextChoices):
    COUNTER = "counter", "Counter"
    BENCH = "bench", "Bench"
    OWNER = "owner", "Owner"


class Staff(AbstractUser):
    """Somebody who signs in. The owner may do whatever the others may."""

    role = models.CharField(max_length=10, choices=Role, default=Role.COUNTER)
    shown_name = models.CharField("name on documents", max_length=80, blank=True)

    class Meta:
        verbose_name = "member of staff"
        verbose_name_plural = "staff"

    def __str__(self) -> str:
        return self.shown_name or self.get_full_name() or self.username

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER


class TaxRounding(models.TextChoices):
    RATE = "rate", "once per tax rate"
    LINE = "line", "on every line"


class TaxScheme(models.TextChoices):
    VAT = "vat", "Value added tax"
    SALES = "sales", "Sales tax"
    NONE = "none", "No tax"


class TaxCategory(models.TextChoices):
    """Codes of UNTDID 5305 as EN 16931 uses them."""

    STANDARD = "S", "Taxed at its rate"
    ZERO = "Z", "Taxed at nothing"
    EXEMPT = "E", "Exempt"
    OUTSIDE = "O", "Outside the tax"


class Paper(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "Letter"


class Profile(models.Model):
    """The one shop this database belongs to, with the terms it works under."""

    name = models.CharField("shop name", max_length=120)
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    registration = models.CharField("registration number", max_length=60, blank=True)
    tax_id = models.CharField("tax number", max_length=60, blank=True)
    country = models.CharField(max_length=2, default="GB")
    currency = models.CharField(max_length=3, default="GBP")
    locale = models.CharField(max_length=20, default="en_GB")
    paper = models.CharField(max_length=10, choices=Paper, default=Paper.A4)
    line_volts = models.PositiveIntegerField("line voltage, V rms", default=230)
    line_hertz = models.PositiveIntegerField("line frequency, Hz", default=50)

    hour_rate_minor = models.PositiveBigIntegerField("labour rate per hour", default=0)
    minute_step = models.PositiveSmallIntegerField("labour is charged in steps of minutes", default=15)
    inspection_fee_minor = models.PositiveBigIntegerField("inspection fee", default=0)
    allowance_bp = models.PositiveIntegerField("written allowance above the agreed sum, 1/100 %", default=0)
    parts_tax_bp = models.PositiveIntegerField("tax on parts, 1/100 %", default=0)
    labour_tax_bp = models.PositiveIntegerField("tax on labour, 1/100 %", default=0)
    prices_include_tax = models.BooleanField(default=False)
    tax_rounding = models.CharField(max_length=4, choices=TaxRounding, default=TaxRounding.RATE)
    payment_days = models.PositiveSmallIntegerField("days to pay", default=14)
    estimate_days = models.PositiveSmallIntegerField("days an estimate stands", default=30)

    warranty_days = models.PositiveSmallIntegerField("warranty on work and new parts, days", default=90)
    valve_warranty_days = models.PositiveSmallIntegerField("warranty on valves, days", default=30)
    soak_hours = models.PositiveSmallIntegerField("soak, hours", default=4)
    tolerance_percent = models.PositiveSmallIntegerField("drift accepted where the sheet gives no tolerance, %", default=20)
    safety_practice = models.CharField("electrical safety practice", max_length=40, default="hot_check_075")
    terms = models.TextField("terms printed on estimates and invoices", blank=True)

    jurisdiction = models.CharField("rules of the place", max_length=40, default="strictest")
    tightened = models.JSONField("what the shop holds itself to beyond the rules", default=dict, blank=True)
    tax_scheme = models.CharField("kind of tax", max_length=10, choices=TaxScheme, default=TaxScheme.VAT)
    parts_tax_category = models.CharField(
        "tax category of parts", max_length=2, choices=TaxCategory, default=TaxCategory.STANDARD
    )
    labour_tax_category = models.CharField(
        "tax category of labour", max_length=2, choices=TaxCategory, default=TaxCategory.STANDARD
    )
    tax_exempt_reason = models.CharField("why no tax is charged, as invoices must say it", max_length=200, blank=True)
    iban = models.CharField("account to pay into", max_length=40, blank=True)
    minimum_fee_minor = models.PositiveBigIntegerField("minimum bench fee, credited to a repair", default=0)
    decline_fee_minor = models.PositiveBigIntegerField("fee where the estimate is declined", default=0)
    in_the_hour_below_minor = models.PositiveBigIntegerField("parts that sell below this are folded into the hour", default=0)

    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name = "shop profile"
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(pk=1), name="one_profile")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Profile | None":
        """The profile, or None before the shop was set up."""
        return cls.objects.filter(pk=1).first()


class MarkupStep(models.Model):
    """One rung of a markup ladder: lots that cost up to `cost_up_to_minor` each sell at cost x `factor_percent`/100.

    `part_kind` is a kind of part that has a ladder of its own; blank for the ladder of all others.
    """

    part_kind = models.CharField(max_length=12, blank=True, default="")
    cost_up_to_minor = models.PositiveBigIntegerField("unit cost up to")
    factor_percent = models.PositiveIntegerField("selling price as % of cost", validators=[MinValueValidator(100)])

    class Meta:
        ordering: ClassVar = ["part_kind", "cost_up_to_minor"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["part_kind", "cost_up_to_minor"], name="one_rung_a_cost")]

    def __str__(self) -> str:
        return f"up to {self.cost_up_to_minor}: {self.factor_percent} %"


class Bench(models.Model):
    """A place where one job at a time is worked on."""

    name = models.CharField(max_length=40, unique=True)
    order = models.PositiveSmallIntegerField(default=0)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["order", "name"]
        verbose_name_plural = "benches"

    def __str__(self) -> str:
        return self.name


NUMBER_MARKS = str.maketrans("", "", " +-/().")


class CustomerQuerySet(models.QuerySet["Customer"]):
    def matching(self, text: str) -> "CustomerQuerySet":
        """Name, phone or e-mail containing every word of the text, accents and case aside.

        A text of figures is a telephone number: its spaces and its leading zero (not part of the international form) don't count.
        """
        found = self
        number = text.translate(NUMBER_MARKS)
        words = [number.lstrip("0")] if number.isdecimal() else fold(text).split()
        for word in words:
            found = found.filter(search__contains=word)
        return found


class Customer(models.Model):
    name = models.CharField(max_length=160)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    country = models.CharField("country, where it isn't the shop's", max_length=2, blank=True)
    tax_id = models.CharField("tax number", max_length=60, blank=True)
    buyer_reference = models.CharField("their reference on our invoices", max_length=60, blank=True)
    note = models.TextField(blank=True)
    search = models.CharField(max_length=600, editable=False, db_index=True)
    created_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: object, **kwargs: object) -> None:
        digits = "".join(c for c in self.phone if c.isdigit())
        self.search = fold(f"{self.name} {self.email} {digits} {self.phone}")[:600]
        super().save(*args, **kwargs)  # type: ignore[arg-type]


class NumberSeries(models.Model):
    """The last number given in a series and year; the row is locked while a paper is numbered, so none is skipped or doubled."""

    series = models.CharField(max_length=8)
    year = models.PositiveSmallIntegerField(validators=[MaxValueValidator(9999)])
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["series", "year"], name="one_counter_a_year")]

    def __str__(self) -> str:
        return f"{self.series}-{self.year}: {self.last}"


class ActOnce(models.Model):
    """The mark that one sent form leaves: the same form sent again finds it and acts no second time."""

    token = models.UUIDField(primary_key=True, default=uuid.uuid4)
    act = models.CharField(max_length=60)
    answer = models.CharField(max_length=400, blank=True)
    at = models.DateTimeField()

    class Meta:
        verbose_name = "act done once"

    def __str__(self) -> str:
        return f"{self.act} {self.token}"
