"""Forms of the estimate: a line of time, a flat task, or a sum for a fee or a part that is not in stock; note and reason."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from jobs.forms.tasks import TaskChoice, count_field, offer_tasks
from jobs.models import Estimate, EstimateLine, LogEntry, Position
from jobs.models.estimate import EstimateLineKind
from jobs.queries.evidence import finding_words
from jobs.services.estimates import TypedLine
from shop.money import round_minor
from shop.web.forms import MinutesField, MoneyField, SeenForm

FINDING_GONE = "This finding was corrected, taken back, or is named already. Choose another."
FEE_OR_PART = ((EstimateLineKind.PART, "Part that is not in a drawer"), (EstimateLineKind.FEE, "Fee"))


class LineForm(SeenForm):
    """What the three share: `what` names the form when it comes back, `typed` gives what the service takes."""

    what = ""

    def __init__(self, *args: Any, estimate: Estimate, **kwargs: Any) -> None:
        kwargs.setdefault("prefix", self.what)
        initial = {"seen": estimate.version, **kwargs.pop("initial", {})}
        super().__init__(*args, initial=initial, currency=estimate.currency, **kwargs)
        self.estimate = estimate
        self.set_up()

    def set_up(self) -> None:
        """Choices that depend on the job."""

    def typed(self) -> TypedLine:
        raise NotImplementedError


class TimeLineForm(LineForm):
    what = "time"
    text = forms.CharField(label="Work", max_length=200, initial="Repair, wiring and alignment")
    low_minutes = MinutesField(label="Time, from", help_text="The whole time of the job, what is worked already included.")
    high_minutes = MinutesField(label="Time, up to", required=False, help_text="Empty: as above.")

    def typed(self) -> TypedLine:
        data = self.cleaned_data
        low = data["low_minutes"] or 0
        return TypedLine(EstimateLineKind.LABOUR, data["text"], low_minutes=low, high_minutes=data["high_minutes"] or low)

    def clean(self) -> None:
        low, high = self.cleaned_data.get("low_minutes"), self.cleaned_data.get("high_minutes")
        if low and high and high < low:
            self.add_error("high_minutes", "The time up to is shorter than the time from.")


class TaskLineForm(LineForm):
    what = "task"
    task = TaskChoice()
    count = count_field()
    text = forms.CharField(label="In other words", max_length=200, required=False)

    def set_up(self) -> None:
        offer_tasks(self, self.estimate.job, self.initial.get("task"))

    def typed(self) -> TypedLine:
        data = self.cleaned_data
        return TypedLine(EstimateLineKind.FLAT, data["text"], task=data["task"], count=data["count"])


class SumLineForm(LineForm):
    what = "sum"
    kind = forms.ChoiceField(label="Kind", choices=FEE_OR_PART)
    text = forms.CharField(label="What for", max_length=200)
    position = forms.ModelChoiceField(
        Position.objects.none(),
        label="Position",
        required=False,
        empty_label="none",
        help_text="The line gives way once the log has a price there.",
    )
    low = MoneyField(label="Sum, from")
    high = MoneyField(label="Sum, up to", required=False, help_text="Empty: as above.")

    def set_up(self) -> None:
        field: Any = self.fields["position"]
        field.queryset = Position.objects.filter(job=self.estimate.job_id)

    def clean(self) -> None:
        low, high = self.cleaned_data.get("low"), self.cleaned_data.get("high")
        if low is not None and high is not None and high < low:
            self.add_error("high", "The sum up to is below the sum from.")

    def typed(self) -> TypedLine:
        data = self.cleaned_data
        position = data["position"] if data["kind"] == EstimateLineKind.PART else None
        high = data["low"] if data["high"] is None else data["high"]
        return TypedLine(data["kind"], data["text"], low_minor=data["low"], high_minor=high, position=position)


FORMS: dict[str, type[LineForm]] = {form.what: form for form in (TimeLineForm, TaskLineForm, SumLineForm)}


def form_for(line: EstimateLine) -> type[LineForm]:
    """The form that a typed line came from."""
    if line.task_id is not None:
        return TaskLineForm
    return TimeLineForm if line.kind == EstimateLineKind.LABOUR and line.unit_minor else SumLineForm


def initial_of(line: EstimateLine) -> dict[str, object]:
    if form_for(line) is TimeLineForm:
        low = round_minor(_exact_minutes(line))
        return {"text": line.text, "low_minutes": low, "high_minutes": line.minutes if line.minutes != low else None}
    if line.task_id is not None:
        return {"task": line.task_id, "count": line.count, "text": line.text if line.text != str(line.task) else ""}
    high = line.high_minor if line.high_minor != line.low_minor else None
    return {"kind": line.kind, "text": line.text, "position": line.position_id, "low": line.low_minor, "high": high}


def _exact_minutes(line: EstimateLine) -> Decimal:
    return Decimal(line.low_minor) * 60 / line.unit_minor


class NoteForm(SeenForm):
    note = forms.CharField(
        label="For the customer",
        required=False,
        max_length=4000,
        widget=forms.Textarea,
        help_text="Printed under the lines: what was found, why it is a range, what you advise.",
    )


class BecauseForm(SeenForm):
    because = forms.CharField(
        label="Why this version",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What was found that asks for it, in plain words. It stands on the paper and in the consent.",
    )


class FindingForm(SeenForm):
    """`findings` are what the log has found and this version doesn't name yet."""

    entry = forms.TypedChoiceField(
        label="Finding", coerce=int, error_messages={"required": "Choose a finding.", "invalid_choice": FINDING_GONE}
    )

    def __init__(self, *args: Any, findings: Sequence[LogEntry] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = [(entry.pk, f"no. {entry.seq}, {finding_words(entry)}"[:120]) for entry in findings]
        self.fields["entry"].choices = [("", "Choose"), *listed]  # type: ignore[attr-defined]
