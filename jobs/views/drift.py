"""Readings of many sets side by side: the positions of a model, one position, the values of a role."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.components.roles import ROLES
from inventory.components.writing import said_in
from jobs.models import Position, RadioModel
from jobs.queries.drift import Drift, Reading, drift_of_model, drift_of_place, drift_of_role
from jobs.queries.sheet import QUANTITIES
from shop.access import EVERYBODY, role_required
from shop.paper.charts import Spot, Strip, StripChart, percent
from shop.profile import farads_liked
from shop.web.saving import file_of, sheet_of, wants_file

LOOKS = ("read out of circuit", "read in circuit")
VALUE_LABEL = "off the value called for, in %"
MEASURED = sorted((role.label, code) for code, role in ROLES.items() if role.kind in (*QUANTITIES, "winding"))


class RoleForm(forms.Form):
    role = forms.ChoiceField(label="Role")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        field: Any = self.fields["role"]
        field.choices = [("", "choose a role"), *((code, label) for label, code in MEASURED)]


def strip(drift: Drift, label: str) -> Strip:
    spots = [
        Spot(
            one.percent,
            f"{one.position.job.number}, {one.position.designator}: {one.text}, {percent(round(one.percent, 1))}",
            reverse("jobs:position", args=[one.position.pk]),
            int(one.in_circuit),
        )
        for one in drift.readings
    ]
    newest = drift.readings[-1].position.pk if drift.readings else 0
    href = reverse("jobs:position_readings", args=[newest]) if newest else ""
    return Strip(label, spots, drift.band, _note(drift), href)


def _note(drift: Drift) -> str:
    said = f"{drift.sets} set{'' if drift.sets == 1 else 's'}"
    return f"{said}, {drift.gone} gone" if drift.gone else said


def chart(title: str, of_what: str, drifts: Iterable[tuple[str, Drift]]) -> StripChart:
    strips = [strip(drift, label) for label, drift in drifts]
    return StripChart(title, of_what, VALUE_LABEL, strips, looks=LOOKS)


def saved(request: HttpRequest, name: str, drifts: Iterable[Drift]) -> HttpResponse:
    """Every reading as a row; one that stands in two lists comes once."""
    rows = {one.position.pk: one for drift in drifts for one in drift.readings}
    return file_of(request, sheet_of(name, COLUMNS, rows.values()))


def _off(one: Reading) -> Decimal:
    return Decimal(repr(round(one.percent, 2)))


COLUMNS = (
    ("Job", lambda one: one.position.job.number),
    ("Set", lambda one: str(one.position.job.radio.model)),
    ("Position", lambda one: one.position.designator),
    ("Called for", lambda one: one.called),
    ("Read", lambda one: one.text),
    ("Off, %", _off),
    ("In circuit", lambda one: one.in_circuit),
    ("Verdict", lambda one: one.verdict_label),
)


@role_required(*EVERYBODY)
def model_readings(request: HttpRequest, pk: int) -> HttpResponse:
    """Every position of a model: how far its parts had drifted in the sets that were here."""
    model = get_object_or_404(RadioModel, pk=pk)
    drifts = drift_of_model(model)
    if wants_file(request):
        return saved(request, f"readings-of-model-{model.pk}", drifts)
    picture = chart(f"Readings in all sets of {model}", "Position", [(f"{one.name}  {one.called}", one) for one in drifts])
    return render(request, "jobs/model_readings.html", {"model": model, "drifts": drifts, "chart": picture})


@role_required(*EVERYBODY)
def position_readings(request: HttpRequest, pk: int) -> HttpResponse:
    """One position in all sets of its model, and its value in this role in every set."""
    position = get_object_or_404(Position.objects.select_related("job__radio__model", "job__customer"), pk=pk)
    here, everywhere = drift_of_place(position)
    if here is not None and everywhere is not None and everywhere.sets == here.sets:
        everywhere = None
    if wants_file(request):
        return saved(request, f"readings-at-{position.designator}", [one for one in (here, everywhere) if one is not None])
    value = said_in(farads_liked(), everywhere.name) if everywhere else ""
    listed = [(f"{position.designator} here", here), (f"{value} anywhere", everywhere)]
    shown = [(label, drift) for label, drift in listed if drift is not None]
    picture = chart(f"{position.designator} in sets of {position.job.radio.model}", "Where", shown)
    context: dict[str, Any] = {
        "position": position,
        "job": position.job,
        "here": here,
        "everywhere": everywhere,
        "chart": picture,
    }
    context["shown"] = [drift for _, drift in shown]
    return render(request, "jobs/position_readings.html", context)


@role_required(*EVERYBODY)
def role_readings(request: HttpRequest) -> HttpResponse:
    """Every value called for in a role, across all models."""
    form = RoleForm(request.GET if request.GET.get("role") else None)
    role = form.cleaned_data["role"] if form.is_bound and form.is_valid() else ""
    drifts = drift_of_role(role) if role else []
    label = ROLES[role].label if role else ""
    if wants_file(request) and role:
        return saved(request, f"readings-{role.replace('_', '-')}", drifts)
    farads = farads_liked()
    named = [(said_in(farads, one.name), one) for one in drifts]
    picture = chart(f"{label}: readings by the value called for", "Called for", named)
    context = {"form": form, "role": role, "label": label, "drifts": drifts, "chart": picture}
    return render(request, "jobs/role_readings.html", context, status=422 if form.errors else 200)
