"""The filters of the job list."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from jobs.models import Job, Stage, WaitsFor
from jobs.queries.jobs import matching, overdue
from shop.clock import today
from shop.models import Bench

OPEN, LATE, ALL = "open", "late", "all"


class JobFilter(filters.FilterSet):
    """Open jobs unless the list is asked for all; each filter narrows what the others leave."""

    q = filters.CharFilter(label="Find", method="find", widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}))
    show = filters.ChoiceFilter(
        label="Show", method="which", choices=[(OPEN, "open jobs"), (LATE, "overdue jobs"), (ALL, "all jobs")], empty_label=None
    )
    stage = filters.ChoiceFilter(choices=Stage.choices, empty_label="any")
    waits_for = filters.ChoiceFilter(choices=[one for one in WaitsFor.choices if one[0]], empty_label="anything or nothing")
    bench = filters.ModelChoiceFilter(queryset=Bench.objects.all(), empty_label="any")

    class Meta:
        model = Job
        fields: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        # A stage that ends a job can't be found among the open ones.
        closed = asked.get("stage") in (Stage.HANDED_OVER, Stage.RETURNED)
        asked.setdefault("show", ALL if closed else OPEN)
        super().__init__(asked, *args, **kwargs)
        self.form.label_suffix = ""

    def find(self, jobs: "QuerySet[Job]", name: str, value: str) -> "QuerySet[Job]":
        return matching(jobs, value)

    def which(self, jobs: "QuerySet[Job]", name: str, value: str) -> "QuerySet[Job]":
        if value == LATE:
            return jobs.filter(overdue(today()))
        return jobs if value == ALL else jobs.open()  # type: ignore[attr-defined]
