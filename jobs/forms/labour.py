"""Forms of labour: the clock, typed time, flat tasks, taking back."""

from datetime import date
from typing import Any

from django import forms

from jobs.forms.entries import Remembering
from jobs.models import FlatTask, LabourEntry, Step
from jobs.services.labour import Work
from shop.models import Staff
from shop.web.forms import DayField, MinutesField, TradeForm

NOT_CHARGED_HELP = "Leave empty to charge it. The reason is printed on the bill."


def not_charged_field() -> forms.CharField:
    return forms.CharField(label="Not charged, because", required=False, max_length=200, help_text=NOT_CHARGED_HELP)


class StaffChoice(forms.ModelChoiceField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Staff.objects.filter(is_active=True).order_by("username"), empty_label=None, **kwargs)


class StartClockForm(TradeForm):
    step = forms.ChoiceField(label="Step", choices=Step.choices, initial=Step.REPAIR)


class StopClockForm(Remembering):
    text = forms.CharField(label="What was done", required=False, max_length=160)
    not_charged = not_charged_field()


class TimeForm(Remembering):
    """Time typed in."""

    worker = StaffChoice(label="Who worked")
    step = forms.ChoiceField(label="Step", choices=Step.choices, initial=Step.REPAIR)
    worked_on = DayField(label="Day")
    minutes = MinutesField(label="Time", help_text="Minutes (45), or hours and minutes (1:30).")
    text = forms.CharField(label="What was done", required=False, max_length=160)
    not_charged = not_charged_field()

    def work(self) -> Work:
        typed = self.cleaned_data
        return Work(
            typed["worker"], typed["step"], typed["worked_on"], typed["minutes"], typed["text"], not_charged=typed["not_charged"]
        )


class TaskForm(Remembering):
    """Work at a fixed price."""

    task = forms.ModelChoiceField(label="Flat task", queryset=FlatTask.objects.filter(in_use=True), empty_label="choose")
    worker = StaffChoice(label="Who worked")
    worked_on = DayField(label="Day")
    text = forms.CharField(label="Remark", required=False, max_length=160)
    not_charged = not_charged_field()

    def work(self) -> Work:
        typed = self.cleaned_data
        task: FlatTask = typed["task"]
        return Work(
            typed["worker"], task.step, typed["worked_on"], text=typed["text"], task=task, not_charged=typed["not_charged"]
        )


class TakeBackForm(Remembering):
    why = forms.CharField(label="Why it is taken back", max_length=160)


def new_entry(person: Staff, on: date) -> dict[str, object]:
    """What a new entry starts with."""
    return {"worker": person.pk, "worked_on": on}


def as_typed(entry: LabourEntry) -> dict[str, object]:
    """What a correction starts with: the entry as it was typed."""
    names = ("step", "worked_on", "minutes", "text")
    values: dict[str, object] = {name: getattr(entry, name) for name in names}
    return values | {"worker": entry.worker_id, "task": entry.task_id, "not_charged": entry.not_charged_reason}
