"""Forms of the estimate: a line of time, a flat task, or a sum for a fee or a part that is not in stock; the note."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.models import Estimate, EstimateLine, FlatTask, Position
from jobs.models.estimate import EstimateLineKind
from jobs.services.estimates import TypedLine
from shop.money import round_minor
from shop.web.forms import MinutesField, MoneyField, SeenForm

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
    task = forms.ModelChoiceField(
        FlatTask.objects.none(), label="Flat task", empty_label="Choose", error_messages={"required": "Choose a task."}
    )
    text = forms.CharField(label="In other words", max_length=200, required=False)

    def set_up(self) -> None:
        field: Any = self.fields["task"]
        field.queryset = FlatTask.objects.filter(in_use=True)

    def typed(self) -> TypedLine:
        return TypedLine(EstimateLineKind.FLAT, self.cleaned_data["text"], task=self.cleaned_data["task"])


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
    """The form that a typed line came from. A flat task keeps its price, so it is rewritten as a sum."""
    return TimeLineForm if line.kind == EstimateLineKind.LABOUR and line.unit_minor else SumLineForm


def initial_of(line: EstimateLine) -> dict[str, object]:
    if form_for(line) is TimeLineForm:
        low = round_minor(_exact_minutes(line))
        return {"text": line.text, "low_minutes": low, "high_minutes": line.minutes if line.minutes != low else None}
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
