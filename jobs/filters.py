"""The filters of the job list."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet

from jobs.models import Cause, Claim, ClaimAnswer, FlatTask, Job, LabourEntry, RadioSet, Stage, Step, WaitsFor
from jobs.models.job import OPEN_STAGES
from jobs.queries.claim_list import standing_rows
from jobs.queries.jobs import matching, numbered_with, overdue, sets_matching
from shop.clock import today
from shop.models import Bench, Staff
from shop.search_text import fold

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
        closed = asked.get("stage") in set(Stage) - set(OPEN_STAGES)
        asked.setdefault("show", ALL if closed else OPEN)
        super().__init__(asked, *args, **kwargs)
        self.form.label_suffix = ""

    def find(self, jobs: "QuerySet[Job]", name: str, value: str) -> "QuerySet[Job]":
        return matching(jobs, value)

    def which(self, jobs: "QuerySet[Job]", name: str, value: str) -> "QuerySet[Job]":
        if value == LATE:
            return jobs.filter(overdue(today()))
        return jobs if value == ALL else jobs.open()  # type: ignore[attr-defined]


def _search(label: str) -> filters.CharFilter:
    return filters.CharFilter(label=label, method="find", widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}))


def _day(label: str, lookup: str, name: str = "worked_on") -> filters.DateFilter:
    widget = forms.DateInput(attrs={"type": "date"})
    return filters.DateFilter(label=label, field_name=name, lookup_expr=lookup, widget=widget)


class SetFilter(filters.FilterSet):
    """Sets by maker, model, serial number or whose they are."""

    q = _search("Maker, model, serial or customer")

    class Meta:
        model = RadioSet
        fields: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.label_suffix = ""

    def find(self, sets: "QuerySet[RadioSet]", name: str, value: str) -> "QuerySet[RadioSet]":
        return sets_matching(sets, value[:80])


class LabourFilter(filters.FilterSet):
    """Labour of all jobs; what was taken back or corrected shows where it is asked for."""

    q = _search("Job or words")
    worker = filters.ModelChoiceFilter(label="Who", queryset=Staff.objects.all(), empty_label="anybody")
    step = filters.ChoiceFilter(label="Step", choices=Step.choices, empty_label="any")
    since = _day("From", "gte")
    until = _day("To", "lte")
    show = filters.ChoiceFilter(
        label="Show", method="which", choices=[(OPEN, "what stands"), (ALL, "what was corrected, too")], empty_label=None
    )

    class Meta:
        model = LabourEntry
        fields: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        asked.setdefault("show", OPEN)
        super().__init__(asked, *args, **kwargs)
        self.form.label_suffix = ""

    def find(self, entries: "QuerySet[LabourEntry]", name: str, value: str) -> "QuerySet[LabourEntry]":
        for word in value.replace("\0", " ")[:80].split():
            tasks = FlatTask.objects.filter(name__icontains=word).order_by().values("pk")
            said = Q(text__icontains=word) | Q(task__in=tasks)
            entries = entries.filter(said | Q(job__in=numbered_with(fold(word))))
        return entries

    def which(self, entries: "QuerySet[LabourEntry]", name: str, value: str) -> "QuerySet[LabourEntry]":
        return entries if value == ALL else entries.filter(withdrawn=False, corrected_by__isnull=True)


class ClaimFilter(filters.FilterSet):
    """Sets that came back: by words, by how they were decided, by cause, by the day they were claimed."""

    q = _search("Job, set or customer")
    show = filters.ChoiceFilter(
        label="Show",
        method="which",
        choices=[(ALL, "all of them"), (OPEN, "not decided"), *ClaimAnswer.choices],
        empty_label=None,
    )
    cause = filters.ChoiceFilter(label="Why it came back", method="because", choices=Cause.choices, empty_label="any cause")
    since = _day("Claimed from", "gte", "claimed_on")
    until = _day("To", "lte", "claimed_on")

    class Meta:
        model = Claim
        fields: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        asked = data.copy() if data is not None else {}
        asked.setdefault("show", ALL)
        super().__init__(asked, *args, **kwargs)
        self.form.label_suffix = ""

    def find(self, claims: "QuerySet[Claim]", name: str, value: str) -> "QuerySet[Claim]":
        came_back = Job.objects.filter(warranty_of__isnull=False).order_by()
        return claims.filter(job__in=matching(came_back, value[:80]))

    def which(self, claims: Any, name: str, value: str) -> "QuerySet[Claim]":
        if value == ALL:
            return claims  # type: ignore[no-any-return]
        return claims.filter(decided=None if value == OPEN else value)  # type: ignore[no-any-return]

    def because(self, claims: "QuerySet[Claim]", name: str, value: str) -> "QuerySet[Claim]":
        return claims.filter(pk__in=standing_rows().filter(cause=value).values("claim"))
