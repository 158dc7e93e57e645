"""Invoices, credit notes and payments. An issued paper never changes: the database refuses it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from jobs.models import CollectionNotice, Consent, Job, LabourEntry, LogEntry
from jobs.models.estimate import PayBy
from shop.models import Customer, TaxCategory, TaxRounding, TaxScheme


class PaperKind(models.TextChoices):
    INVOICE = "invoice", "Invoice"
    CREDIT_NOTE = "credit_note", "Credit note"


class Invoice(models.Model):
    """An invoice, or a credit note (its sums are positive and count against the invoice it `credits`). Append-only.

    A credit note takes back the `whole` of what its invoice still charges, which frees the log to be billed anew, or a part
    of it: then the job stays billed, and its lines stand with less to pay.
    """

    kind = models.CharField(max_length=12, choices=PaperKind, default=PaperKind.INVOICE)
    number = models.CharField(max_length=24, unique=True)
    series = models.CharField(max_length=8)
    year = models.PositiveSmallIntegerField()
    sequence = models.PositiveIntegerField()
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="invoices")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="invoices")
    # Nearly all papers credit none, and an index over all of them tempts a planner to look for “none” with it.
    credits = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credit_notes", db_index=False
    )
    whole = models.BooleanField("takes the whole invoice back", default=True)
    reason = models.CharField(max_length=300, blank=True)
    seller = models.JSONField("the shop as its papers named it then", default=dict)
    buyer_name = models.CharField(max_length=160)
    buyer_address = models.TextField(blank=True)
    buyer_country = models.CharField(max_length=2, blank=True)
    buyer_tax_id = models.CharField(max_length=60, blank=True)
    buyer_reference = models.CharField(max_length=60, blank=True)
    set_line = models.CharField(max_length=300)
    fault = models.TextField(blank=True)
    consent = models.ForeignKey(Consent, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    currency = models.CharField(max_length=3)
    prices_include_tax = models.BooleanField()
    tax_rounding = models.CharField(max_length=4, choices=TaxRounding)
    tax_scheme = models.CharField(max_length=10, choices=TaxScheme, default=TaxScheme.VAT)
    tax_exempt_reason = models.CharField(max_length=200, blank=True)
    jurisdiction = models.CharField(max_length=40, blank=True)
    must_say = models.JSONField("what the place's rules want said on it", default=list)
    work_done_on = models.DateField("day the work was finished", null=True, blank=True)
    terms = models.TextField(blank=True)
    net_minor = models.PositiveBigIntegerField()
    tax_minor = models.PositiveBigIntegerField()
    gross_minor = models.PositiveBigIntegerField()
    prepaid_minor = models.PositiveBigIntegerField("deposits set off", default=0)
    issued_on = models.DateField()
    due_on = models.DateField()
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["series", "year", "sequence"], name="one_paper_a_number"),
            models.CheckConstraint(
                condition=Q(gross_minor=models.F("net_minor") + models.F("tax_minor")), name="net_and_tax_make_gross"
            ),
            models.CheckConstraint(
                condition=Q(kind="invoice") | Q(credits__isnull=False), name="a_credit_note_credits_an_invoice"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["issued_on"], name="papers_by_day"),
            models.Index(fields=["customer", "issued_on"], name="papers_of_customer_by_day"),
            models.Index(fields=["credits"], name="papers_that_credit", condition=Q(credits__isnull=False)),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def is_credit(self) -> bool:
        return self.kind == PaperKind.CREDIT_NOTE


class LineKind(models.TextChoices):
    PART = "part", "Part"
    LABOUR = "labour", "Labour"
    FLAT = "flat", "Flat task"


class InvoiceLine(models.Model):
    """One line, drawn from one log or labour entry. `bill_round` counts how often the entry was credited and billed anew."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="lines")
    order = models.PositiveIntegerField()
    kind = models.CharField(max_length=8, choices=LineKind)
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="invoice_lines")
    labour = models.ForeignKey(LabourEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="invoice_lines")
    credits_line = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credited_by", db_index=False
    )
    bill_round = models.PositiveSmallIntegerField(default=0)
    designator = models.CharField(max_length=16, blank=True)
    text = models.CharField(max_length=300)
    part_class = models.CharField(max_length=8, blank=True)
    count = models.PositiveIntegerField(default=1)
    minutes = models.PositiveIntegerField(default=0)
    unit_minor = models.PositiveBigIntegerField()
    amount_minor = models.PositiveBigIntegerField()
    net_minor = models.PositiveBigIntegerField()
    tax_bp = models.PositiveIntegerField(default=0)
    tax_category = models.CharField(max_length=2, choices=TaxCategory, blank=True, default="")
    charged = models.BooleanField(default=True)
    not_charged_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["invoice", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["entry", "bill_round"], condition=Q(credits_line__isnull=True), name="a_fitted_part_is_billed_once"
            ),
            models.UniqueConstraint(
                fields=["labour", "bill_round"], condition=Q(credits_line__isnull=True), name="labour_is_billed_once"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["credits_line"], name="lines_that_credit", condition=Q(credits_line__isnull=False)),
        ]

    def __str__(self) -> str:
        return self.text


class PaymentKind(models.TextChoices):
    PAID = "paid", "Payment"
    REFUND = "refund", "Refund"
    WAIVED = "waived", "Waived by the owner"
    WRITTEN_OFF = "lost", "Written off as lost"
    MOVED_OUT = "moved_out", "Moved to another invoice"
    MOVED_IN = "moved_in", "Moved from another invoice"
    FROM_SALE = "from_sale", "Out of the sale of the uncollected set"


class Payment(models.Model):
    """Money against an invoice. Append-only; a refund is a line of its own."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=10, choices=PaymentKind)
    amount_minor = models.PositiveBigIntegerField()
    how = models.CharField(max_length=10, choices=PayBy, blank=True)
    note = models.CharField(max_length=200, blank=True)
    counterpart = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="moved_from")
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(amount_minor__gt=0), name="a_payment_is_money")]
        indexes: ClassVar = [
            models.Index(fields=["at"], name="payments_by_moment"),
            # Few are moved or let go: the unique index, where all the others stand as none, looks useless to a planner.
            models.Index(fields=["counterpart"], name="payments_moved", condition=Q(counterpart__isnull=False)),
        ]

    def __str__(self) -> str:
        return f"{self.kind} on {self.invoice}"


class OpenAccount(models.Model):
    """What is due on an invoice; below nothing it is to be given back. No row where the account comes to nothing.

    A copy of what the rows of money sum to, kept in every act that changes it: so nobody reckons all invoices to find the few.
    """

    invoice = models.OneToOneField(Invoice, on_delete=models.PROTECT, related_name="open_account")
    due_minor = models.BigIntegerField()

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(due_minor=0), name="an_open_account_is_open")]

    def __str__(self) -> str:
        return f"open on {self.invoice}"


class UncollectedSale(models.Model):
    """The lawful sale of a set that nobody collected. Append-only, once a job.

    Of `price_minor` go first `costs_minor`, then what was owed (`owed_minor`); `surplus_minor`, what is left, is the owner's.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="uncollected_sale")
    notice = models.ForeignKey(CollectionNotice, on_delete=models.PROTECT, related_name="+")
    sold_on = models.DateField()
    how = models.CharField("how it was sold, so that the price is a fair one", max_length=200)
    to_whom = models.CharField("buyer", max_length=160)
    price_minor = models.PositiveBigIntegerField()
    costs_minor = models.PositiveBigIntegerField("costs of the sale", default=0)
    costs_text = models.CharField("what these costs were", max_length=200, blank=True)
    owed_minor = models.PositiveBigIntegerField("owed, before the sale")
    surplus_minor = models.PositiveBigIntegerField()
    citation = models.CharField("rule it was sold under", max_length=300)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-pk"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(surplus_minor=0) | Q(price_minor=F("costs_minor") + F("owed_minor") + F("surplus_minor")),
                name="a_surplus_is_what_is_left",
            ),
            models.CheckConstraint(condition=Q(costs_minor=0) | ~Q(costs_text=""), name="costs_of_a_sale_say_what"),
        ]

    def __str__(self) -> str:
        return f"sale of {self.job}"


class SurplusPayment(models.Model):
    """Money out of the surplus account: to the owner, or to whom the place's law names. Append-only."""

    sale = models.ForeignKey(UncollectedSale, on_delete=models.PROTECT, related_name="surplus_payments")
    amount_minor = models.PositiveBigIntegerField()
    to_whom = models.CharField(max_length=160)
    how = models.CharField(max_length=10, choices=PayBy)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(amount_minor__gt=0), name="surplus_paid_is_money")]

    def __str__(self) -> str:
        return f"surplus of {self.sale} to {self.to_whom}"
