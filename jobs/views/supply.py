"""The power supply: a model's figures, and what another part would do to a job's. Only the figures are ever written."""

from decimal import Decimal
from typing import Any, NamedTuple

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.components.preferred import PreferredError, nearest
from inventory.components.valves import is_solid_state
from inventory.components.writing import write_value
from jobs.bench.supply_compare import amount
from jobs.forms.supply import CandidateForm, SupplyFiguresForm, figures_values, shown_besides
from jobs.models import RadioModel
from jobs.queries.output_stage import bplus_of
from jobs.queries.sheet import Sheet, sheet_of
from jobs.queries.supply import Comparison, compared, figures_of, places_of_model
from jobs.queries.supply_moments import moments_of
from jobs.services.supply import save_figures
from jobs.views.job_frame import carry_out, frame, load_job
from jobs.views.supply_charts import beside_the_form, over_time
from shop.access import EVERYBODY, role_required
from shop.acts import Stale
from shop.forms.compare import standing_now
from shop.models import Profile
from shop.web.context import shop_profile
from shop.web.pages import answer_once

SERIES = "E6"
"""Electrolytics are made in its steps. Common practice, no source."""


@role_required(*EVERYBODY)
def supply_figures(request: HttpRequest, pk: int) -> HttpResponse:
    """What the service data say of a model's supply beside its parts."""
    model = get_object_or_404(RadioModel, pk=pk)
    places, figures = places_of_model(model), figures_of(model)
    form = SupplyFiguresForm(request.POST or None, initial=figures_values(model, figures), places=places)
    address = reverse("jobs:model", args=[pk])

    def work() -> str:
        save_figures(model, form.typed(), seen=form.cleaned_data["seen"])
        return address

    done = carry_out(form, "save supply figures", work) if form.is_bound and form.is_valid() else None
    if done is not None:
        return answer_once(request, *done, said="The supply figures are kept with the model.")
    context: dict[str, Any] = {"model": model, "form": form, "figures": figures, "besides": shown_besides(places)}
    if isinstance(form.refusal, Stale):
        values = figures_values(model, figures_of(model))
        context["now"] = standing_now(form, values)
        form.see(int(str(values["seen"])))
    return render(request, "jobs/supply_figures.html", context, status=form.status)


class Step(NamedTuple):
    """A candidate at one press."""

    label: str
    query: str


@role_required(*EVERYBODY)
def supply(request: HttpRequest, pk: int) -> HttpResponse:
    """The supply as called for, as found, and with a candidate in it. It changes nothing."""
    job = load_job(pk)
    sheet = sheet_of(job)
    form = CandidateForm(request.GET)
    found = compared(job, sheet.rows, form.tried)
    context = frame(request, job, sheet) | {"form": form, "found": found, "measured": _measured(sheet)}
    if found is not None:
        context |= {"chart": beside_the_form(found), "over_time": over_time(moments_of(job, sheet.rows, found), found)}
        context |= {"steps": steps(request, found), "load": amount(found.figures.load_amps, "current")}
    return render(request, "jobs/supply.html", context, status=form.status)


def _measured(sheet: Sheet) -> tuple[str, str] | None:
    """B+ as the log has it, and where it was read."""
    volts, where = bplus_of(sheet.rows, [])
    return None if volts is None else (write_value(volts, "voltage"), where)


def steps(request: HttpRequest, found: Comparison) -> list[Step]:
    """The next larger preferred value of either capacitor, and silicon for a valve; what is typed already is kept."""
    terms = shop_profile(request) or Profile()
    now = found.candidate.parts if found.candidate else found.standing
    capacitors = (
        ("reservoir", now.reservoir_uf, now.reservoir_rated_v),
        ("smoothing", now.smoothing_uf, now.smoothing_rated_v),
    )
    made = []
    for name, microfarads, volts in capacitors:
        larger = _next_larger(microfarads, terms.capacitance_style)
        if larger:
            rating = f" {volts:g} V" if volts else ""
            made.append(Step(f"{name.capitalize()} {larger}", _query(request, name, f"{larger}{rating}")))
    if not is_solid_state(now.rectifier):
        made.append(Step("Silicon rectifier", _query(request, "rectifier", "silicon")))
    return made


def _next_larger(microfarads: float, farads: str) -> str:
    """The next step of the series above a value; empty above what is computed."""
    try:
        above = nearest(SERIES, Decimal(repr(microfarads)) * Decimal("1.001")).above
    except PreferredError:
        return ""
    return write_value(above / 10**6, "capacitance", farads=farads) if above <= 1000 else ""


def _query(request: HttpRequest, name: str, value: str) -> str:
    asked = request.GET.copy()
    asked[name] = value
    return f"?{asked.urlencode()}"
