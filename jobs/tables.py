"""Tables of jobs."""

from typing import Any, ClassVar

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from jobs.models import Claim, ClaimAnswer, Job, LabourEntry, RadioSet
from jobs.queries.claim_list import causes_of, days_after
from shop.money import show
from shop.templatetags.shop_tags import day, hours
from shop.web.marks import state, tag_number


class JobTable(tables.Table):
    """Expects jobs `with_heads()` and with `is_late`."""

    caption = "Jobs"
    also = (("Serial number", "radio__serial"), ("Taken in", "taken_in_at"), ("Fault as told", "fault"))
    number = tables.Column("Job")
    radio = tables.Column("Set", order_by=("radio__model__maker", "radio__model__name"))
    customer = tables.Column("Customer", order_by="customer__name")
    stage = tables.Column("Stage")
    waits_for = tables.Column("Waits for", empty_values=(None,))
    bench = tables.Column("Bench", order_by=("bench__order", "bench__name"), default="")
    promised_on = tables.Column("Promised", empty_values=())

    class Meta:
        order_by: ClassVar = ("promised_on",)
        empty_text = "No job answers to this. Take a word out of the search, or show all jobs."

    def render_number(self, record: Job) -> SafeString:
        return tag_number(record.number, reverse("jobs:job", args=[record.pk]))

    def render_radio(self, record: Job) -> str:
        serial = f", {record.radio.serial}" if record.radio.serial else ""
        return f"{record.radio.model}{serial}"

    def value_radio(self, record: Job) -> str:
        return str(record.radio.model)

    def render_stage(self, record: Job) -> str:
        return record.get_stage_display()

    def render_waits_for(self, record: Job) -> SafeString | str:
        if not record.waits_for:
            return ""
        return state("wait", record.waits_note or record.get_waits_for_display())

    def value_waits_for(self, record: Job) -> str:
        return record.waits_note or record.get_waits_for_display() if record.waits_for else ""

    def render_promised_on(self, record: Job) -> SafeString | str:
        if record.promised_on is None:
            return ""
        late = record.is_late  # type: ignore[attr-defined]
        return format_html("{} {}", day(record.promised_on), state("warn", "overdue")) if late else day(record.promised_on)

    def order_promised_on(self, jobs: "QuerySet[Job]", is_descending: bool) -> "tuple[QuerySet[Job], bool]":
        """Jobs without a promise stand last both ways."""
        promised = F("promised_on").desc(nulls_last=True) if is_descending else F("promised_on").asc(nulls_last=True)
        return jobs.order_by(promised, "-pk"), True


NUM: dict[str, Any] = {"td": {"class": "num"}}


class SetTable(tables.Table):
    """Expects sets from `queries.known.listed_sets`."""

    caption = "Sets"
    also = (("First year", "year"), ("Line-up", "lineup"), ("Note", "note"))
    model = tables.Column("Set", order_by=("model__maker", "model__name"))
    serial = tables.Column("Serial number", default="")
    customer = tables.Column("Whose", order_by="customer__name")
    job_count = tables.Column("Stays", attrs=NUM)
    last_job = tables.Column("Last job", orderable=False, default="")

    class Meta:
        order_by: ClassVar = ("model",)
        empty_text = "No set answers to this. Try part of the maker, the model, the serial number or the name."

    def render_model(self, record: RadioSet) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("jobs:set_change", args=[record.pk]), record.model)

    def value_last_job(self, record: RadioSet) -> str:
        return record.last_number or ""  # type: ignore[attr-defined]

    def render_last_job(self, record: RadioSet) -> SafeString | str:
        return tag_number(record.last_number, reverse("jobs:job", args=[record.last_job]))  # type: ignore[attr-defined]


class LabourTable(tables.Table):
    """Expects entries with job, worker and task."""

    caption = "Labour"
    money = ("amount_minor",)
    also = (("Charged minutes", "charged_minutes"), ("Why not charged", "not_charged_reason"), ("Written down", "at"))
    worked_on = tables.Column("Day")
    job = tables.Column("Job", order_by="job__number")
    step = tables.Column("Step")
    text = tables.Column("What", empty_values=())
    worker = tables.Column("Who", order_by="worker__username")
    minutes = tables.Column("Time", attrs=NUM)
    amount_minor = tables.Column("Comes to", attrs=NUM)
    charged = tables.Column("State", orderable=False)

    class Meta:
        order_by: ClassVar = ("-worked_on",)
        empty_text = "No labour answers to this."

    def __init__(self, *args: Any, currency: str, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.currency, self.locale = currency, locale

    def currency_of(self, record: LabourEntry) -> str:
        return self.currency

    def render_worked_on(self, record: LabourEntry) -> SafeString | str:
        return day(record.worked_on)

    def value_job(self, record: LabourEntry) -> str:
        return record.job.number

    def render_job(self, record: LabourEntry) -> SafeString:
        return tag_number(record.job.number, reverse("jobs:labour", args=[record.job_id]))

    def value_text(self, record: LabourEntry) -> str:
        return record.text or (record.task.name if record.task else "")

    def render_text(self, record: LabourEntry) -> str:
        return self.value_text(record)

    def render_minutes(self, value: int) -> str:
        return hours(value) if value else ""

    def render_amount_minor(self, value: int) -> str:
        return show(value, self.currency, self.locale)

    def value_charged(self, record: LabourEntry) -> str:
        if record.withdrawn:
            return "Taken back"
        if getattr(record, "corrected_by", None):
            return "Corrected"
        return "Charged" if record.charged else "Not charged"

    def render_charged(self, record: LabourEntry) -> SafeString:
        words = self.value_charged(record)
        return state("done" if words == "Charged" else "note", words)

    def order_worked_on(self, entries: "QuerySet[LabourEntry]", is_descending: bool) -> "tuple[QuerySet[LabourEntry], bool]":
        return entries.order_by(*("-worked_on", "-pk") if is_descending else ("worked_on", "pk")), True


ANSWER_MARKS = {ClaimAnswer.COVERED: "yes", ClaimAnswer.PARTLY: "warn", ClaimAnswer.CHARGEABLE: "no"}


class ClaimTable(tables.Table):
    """Expects claims from `queries.claim_list.listed_claims`."""

    caption = "Sets that came back"
    also = (("Complaint", "job__fault"), ("Serial number", "job__radio__serial"), ("Customer", "job__customer"))
    job = tables.Column("Job", order_by="pk")
    radio = tables.Column("Set", accessor="job__radio", order_by=("job__radio__model__maker", "job__radio__model__name"))
    warranty = tables.Column("Under the warranty of", accessor="warranty__job", order_by="warranty__job__number")
    claimed_on = tables.Column("Claimed on", order_by=("claimed_on", "pk"))
    after = tables.Column("Days after it began", empty_values=(), orderable=False, attrs=NUM)
    decided = tables.Column("Decided", empty_values=())
    causes = tables.Column("Why it came back", empty_values=(), orderable=False)

    class Meta:
        order_by: ClassVar = ("-job",)
        empty_text = "No set that came back answers to this."

    def value_job(self, record: Claim) -> str:
        return record.job.number

    def render_job(self, record: Claim) -> SafeString:
        return tag_number(record.job.number, reverse("jobs:claim", args=[record.job_id]))

    def render_radio(self, record: Claim) -> str:
        return str(record.job.radio.model)

    def value_warranty(self, record: Claim) -> str:
        return record.warranty.job.number

    def render_warranty(self, record: Claim) -> SafeString:
        return tag_number(record.warranty.job.number, reverse("jobs:job", args=[record.warranty.job_id]))

    def render_claimed_on(self, record: Claim) -> SafeString | str:
        return day(record.claimed_on)

    def render_after(self, record: Claim) -> int:
        return days_after(record)

    def value_decided(self, record: Claim) -> str:
        decided = record.decided  # type: ignore[attr-defined]
        if not decided:
            return "Not decided"
        return ClaimAnswer(decided).label + (", goodwill" if record.goodwill else "")  # type: ignore[attr-defined]

    def render_decided(self, record: Claim) -> SafeString:
        decided = record.decided  # type: ignore[attr-defined]
        return state(ANSWER_MARKS[decided] if decided else "open", self.value_decided(record))

    def render_causes(self, record: Claim) -> str:
        return causes_of(record)
