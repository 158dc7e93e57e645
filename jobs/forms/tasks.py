"""Choosing a flat task and how often its price is asked: on an estimate and in the labour log."""

from typing import Any

from django import forms

from jobs.models import FlatTask, Job, PricedBy
from jobs.queries.counted import counts_of, tasks_for
from jobs.services.tasks import MOST_COUNTED
from shop.money import show
from shop.web.context import shop_currency


class TaskChoice(forms.ModelChoiceField):
    """Each task with its price and the way it is priced. `currency` is set before the choices are shown."""

    currency = ""

    def __init__(self, **kwargs: Any) -> None:
        errors = {"required": "Choose a task.", "invalid_choice": "This task isn't offered for this set. Choose another."}
        kwargs = {"label": "Flat task", "empty_label": "Choose", "error_messages": errors, **kwargs}
        super().__init__(FlatTask.objects.none(), **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        way = "" if obj.priced_by == PricedBy.JOB else f" {obj.get_priced_by_display()}"
        return f"{obj.name}, {show(obj.price_minor, self.currency or shop_currency())}{way}"


def count_field() -> forms.IntegerField:
    return forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_COUNTED,
        required=False,
        error_messages={"invalid": "Type how many in figures, or leave it empty."},
    )


def offer_tasks(form: forms.Form, job: Job, also: Any = None) -> None:
    """Fill in what depends on the set: its tasks, those of its class first, and what its list counts.

    `also` is the key of a task that stands already and may be kept whatever became of it.
    """
    field: Any = form.fields["task"]
    field.currency = shop_currency()
    field.queryset = tasks_for(job, also)
    found = counts_of(job)
    valves, capacitors = found[PricedBy.VALVE], found[PricedBy.CAPACITOR]
    form.fields["count"].help_text = (
        f"For prices by valve or capacitor. The list of this set has {valves} valve{'s' if valves != 1 else ''} and "
        f"{capacitors} capacitor{'s' if capacitors != 1 else ''}; empty: as many."
    )
