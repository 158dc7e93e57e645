"""Forms of labour: the clock, typed time, flat tasks, taking back."""

from datetime import date
from typing import Any

from django import forms

from jobs.forms.entries import Remembering
from jobs.forms.tasks import TaskChoice, count_field, offer_tasks
from jobs.models import FlatTask, Job, LabourEntry, Step
from jobs.queries.borne import borne_on
from jobs.queries.counted import count_for
from jobs.services.labour import Work, as_written
from shop.models import Staff
from shop.web.forms import DayField, MinutesField, TradeForm

NOT_CHARGED_HELP = "Leave empty to charge it. The reason is printed on the bill."


def not_charged_field() -> forms.CharField:
    return forms.CharField(label="Not charged, because", required=False, max_length=200, help_text=NOT_CHARGED_HELP)


def beyond_field() -> forms.BooleanField:
    return forms.BooleanField(label="It has nothing to do with the warranty: charge it", required=False)


def ask_beyond(form: forms.Form, job: Job) -> None:
    """Asked only where the shop bears the work of a job, or a part of it; else all of it is charged anyhow."""
    borne = borne_on(job).work
    if borne is None:
        del form.fields["beyond_cover"]
    else:
        words = "Not charged" if borne.is_all else f"Charged at {100 - borne.percent} %"
        form.fields["beyond_cover"].help_text = f"{words} unless this is ticked: {borne.reason}."


class StaffChoice(forms.ModelChoiceField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Staff.objects.filter(is_active=True).order_by("username"), empty_label=None, **kwargs)


class StartClockForm(TradeForm):
    step = forms.ChoiceField(label="Step", choices=Step.choices, initial=Step.REPAIR)


class StopClockForm(Remembering):
    text = forms.CharField(label="What was done", required=False, max_length=160)
    not_charged = not_charged_field()


class EndClockForm(Remembering):
    """What was really worked while a clock ran."""

    minutes = MinutesField(label="Time really worked", required=False, help_text="Minutes (45), or hours and minutes (1:30).")
    text = forms.CharField(label="What was done", required=False, max_length=160)
    not_charged = not_charged_field()
    nothing = forms.BooleanField(label="Nothing was worked: log nothing", required=False)

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or self.cleaned_data
        if not typed.get("nothing") and typed.get("minutes") is None and "minutes" not in self.errors:
            self.add_error("minutes", "Type the time that was really worked, or tick that nothing was.")
        return typed


class TimeForm(Remembering):
    """Time typed in."""

    worker = StaffChoice(label="Who worked")
    step = forms.ChoiceField(label="Step", choices=Step.choices, initial=Step.REPAIR)
    worked_on = DayField(label="Day")
    minutes = MinutesField(label="Time", help_text="Minutes (45), or hours and minutes (1:30).")
    text = forms.CharField(label="What was done", required=False, max_length=160)
    not_charged = not_charged_field()
    beyond_cover = beyond_field()

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ask_beyond(self, job)

    def work(self) -> Work:
        typed = self.cleaned_data
        return Work(
            typed["worker"],
            typed["step"],
            typed["worked_on"],
            typed["minutes"],
            typed["text"],
            not_charged=typed["not_charged"],
            beyond_cover=typed.get("beyond_cover", False),
        )


class TaskForm(Remembering):
    """Work at a fixed price: once, or for each valve or capacitor. The set's own list says how many there are."""

    task = TaskChoice()
    count = count_field()
    worker = StaffChoice(label="Who worked")
    worked_on = DayField(label="Day")
    text = forms.CharField(label="Remark", required=False, max_length=160)
    not_charged = not_charged_field()
    beyond_cover = beyond_field()

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.job = job
        offer_tasks(self, job, self.initial.get("task"))
        ask_beyond(self, job)

    def work(self) -> Work:
        typed = self.cleaned_data
        task: FlatTask = typed["task"]
        count = count_for(self.job, task) if typed["count"] is None else typed["count"]
        return Work(
            typed["worker"],
            task.step,
            typed["worked_on"],
            text=typed["text"],
            task=task,
            not_charged=typed["not_charged"],
            count=count,
            beyond_cover=typed.get("beyond_cover", False),
        )


class TakeBackForm(Remembering):
    why = forms.CharField(label="Why it is taken back", max_length=160)


def new_entry(person: Staff, on: date) -> dict[str, object]:
    """What a new entry starts with."""
    return {"worker": person.pk, "worked_on": on}


def as_typed(entry: LabourEntry) -> dict[str, object]:
    """What a correction starts with: the entry as it was typed."""
    names = ("step", "worked_on", "minutes")
    values: dict[str, object] = {name: getattr(entry, name) for name in names}
    text = as_written(entry.text)
    values |= {"text": text, "beyond_cover": entry.charged and text == entry.text}
    task = {"task": entry.task_id, "count": entry.task_count} if entry.task_id else {}
    return values | task | {"worker": entry.worker_id, "not_charged": entry.not_charged_reason}
