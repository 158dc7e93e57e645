"""Who the shop is, and the terms it works under."""

from typing import ClassVar

from django.core.validators import MinValueValidator
from django.db import models

from shop.prepared import Prepared


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


class CapacitanceStyle(models.TextChoices):
    """How the shop likes capacitance written where the program writes it; what somebody typed stays as typed."""

    MODERN = "modern", "pF, nF, µF"
    MICRO = "micro", "pF and µF only"
    OLD = "old", "MMFD and MFD, as on old service sheets"


class WarrantyStart(models.TextChoices):
    """The event from which a warranty runs."""

    HAND_OVER = "hand_over", "the day the set is handed over"
    READY = "ready", "the day the set is ready to collect"
    INVOICE = "invoice", "the day of the invoice"


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

    labour_warranty_days = models.PositiveSmallIntegerField("warranty on work, days", default=90)
    warranty_days = models.PositiveSmallIntegerField("warranty on new parts, days", default=90)
    used_part_warranty_days = models.PositiveSmallIntegerField("warranty on used or rebuilt parts, days", default=90)
    valve_warranty_days = models.PositiveSmallIntegerField("warranty on new and unused valves, days", default=30)
    used_valve_warranty_days = models.PositiveSmallIntegerField("warranty on used valves, days", default=30)
    own_part_warranty_days = models.PositiveSmallIntegerField("warranty on parts that the customer brought, days", default=0)
    warranty_starts = models.CharField(
        "the warranty runs from", max_length=10, choices=WarrantyStart, default=WarrantyStart.HAND_OVER
    )
    warranty_transfers = models.BooleanField("the warranty goes with the set to a new owner", default=True)
    warranty_void = models.TextField("what ends the cover, one a line; empty for the usual ones", blank=True)
    hour_cost_minor = models.PositiveBigIntegerField("what an hour of work costs the shop", default=0)
    soak_hours = models.PositiveSmallIntegerField("soak, hours", default=4)
    tolerance_percent = models.PositiveSmallIntegerField("drift accepted where the sheet gives no tolerance, %", default=20)
    safety_practice = models.CharField("electrical safety practice", max_length=40, default="hot_check_075")
    capacitance_style = models.CharField(
        "capacitance is written in", max_length=8, choices=CapacitanceStyle, default=CapacitanceStyle.MODERN
    )
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
        return _CURRENT.first()


_CURRENT = Prepared(lambda: Profile.objects.filter(pk=1))


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
