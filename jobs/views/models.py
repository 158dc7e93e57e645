"""Models and their called-for lists: the list of models, one model with its list as a form, its data."""

from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.forms.models import ListForm, ModelChangeForm, ModelForm, model_values, rows_formset, with_more_rows
from jobs.models import Job, RadioModel, SupplyKind
from jobs.queries.called_for_merge import Row
from jobs.queries.known import jobs_lacking, models_matching, set_cautions
from jobs.queries.supply import figures_of
from jobs.services.called_for import CalledRow, save_called_for, take_over
from jobs.services.intake import add_model, change_model
from shop import acts
from shop.access import EVERYBODY, role_required
from shop.acts import Refused, Stale
from shop.forms.compare import standing_now
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import answer_once, back_to, refuse
from shop.web.saving import file_of, table_sheet, wants_file


class ModelsTable(tables.Table):
    caption = "Models"
    maker = tables.LinkColumn("jobs:model", args=[tables.A("pk")], verbose_name="Model", text=str, order_by=("maker", "name"))
    supply_kind = tables.Column("Supply")
    lineup = tables.Column("Line-up", orderable=False)
    position_count = tables.Column("Positions called for", attrs={"td": {"class": "num"}})
    set_count = tables.Column("Sets here", attrs={"td": {"class": "num"}})

    also = (("Model", "name"), ("First year", "year"), ("Class", "set_class"), ("Traps", "traps"))

    class Meta:
        empty_text = "No model answers to this. Try part of the maker's or the model's name."


@role_required(*EVERYBODY)
@as_left("jobs:models", {"q": ""})
def models(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("q", "")[:160]
    table = ModelsTable(models_matching(text), order_by="maker")
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("models", table))
    return render(request, "jobs/models.html", {"table": table, "text": text, "none_yet": not text and not table.rows})


def standing_rows(model: RadioModel) -> list[Row]:
    return [Row(one.designator, one.role, one.called, one.note) for one in model.called_for.all()]  # type: ignore[attr-defined]


def save_rows(model: RadioModel, rows: list[Row], *, seen: int) -> str:
    """Write the list; gives the address to go to."""
    save_called_for(model, [CalledRow(*row) for row in rows], seen=seen)
    return reverse("jobs:model", args=[model.pk])


@role_required(*EVERYBODY)
def model(request: HttpRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(RadioModel, pk=pk)
    if request.method != "POST":
        return _model_page(request, shown, ListForm(initial={"seen": shown.version}), rows_formset(standing_rows(shown)))
    form = ListForm(request.POST)
    if "more" in request.POST:
        unjudged = ListForm(initial={"seen": request.POST.get("seen"), "once": request.POST.get("once")})
        return _model_page(request, shown, unjudged, rows_formset(standing_rows(shown), with_more_rows(request.POST)))
    return _save_list(request, shown, form)


def _save_list(request: HttpRequest, shown: RadioModel, form: ListForm) -> HttpResponse:
    rows = rows_formset(standing_rows(shown), request.POST)
    context: dict[str, Any] = {}
    if form.is_valid() and rows.is_valid():
        seen = form.cleaned_data["seen"]
        try:
            done = acts.once(form.cleaned_data["once"], "save called-for list", lambda: save_rows(shown, rows.rows(), seen=seen))
        except Stale as stale:
            form.take_refusal(stale)
            shown.refresh_from_db()
            context["differing"] = _differing(standing_rows(shown), rows.rows())
            form.see(shown.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The called-for list is kept with the model.")
    return _model_page(request, shown, form, rows, status=422, **context)


def _differing(standing: list[Row], typed: list[Row]) -> list[Row]:
    """What stands now and isn't among the typed rows as it stands."""
    mine = set(typed)
    return [row for row in standing if row not in mine]


def _model_page(
    request: HttpRequest, shown: RadioModel, form: ListForm, rows: Any, status: int = 200, **more: Any
) -> HttpResponse:
    context = {
        "model": shown,
        "form": form,
        "rows": rows,
        "lacking": jobs_lacking(shown),
        "cautions": set_cautions(shown.supply_kind, shown.year, shown.lineup),
        "set_count": shown.sets.count(),  # type: ignore[attr-defined]
        "supply": figures_of(shown),
        "has_rectifier": shown.supply_kind != SupplyKind.BATTERY,
        **more,
    }
    return render(request, "jobs/model.html", context, status=status)


@role_required(*EVERYBODY)
def model_new(request: HttpRequest) -> HttpResponse:
    form = ModelForm(request.POST or None)
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "add model", lambda: _model_address(add_model(form.model_facts())))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The model is written down. Its called-for list comes next.")
    return render(request, "jobs/model_new.html", {"form": form}, status=form.status)


def _model_address(model: RadioModel) -> str:
    return reverse("jobs:model", args=[model.pk])


@role_required(*EVERYBODY)
def model_change(request: HttpRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(RadioModel, pk=pk)
    form = ModelChangeForm(request.POST or None, initial=model_values(shown))
    context: dict[str, Any] = {"model": shown, "form": form}
    if form.is_valid():
        seen = form.cleaned_data["seen"]
        try:
            done = acts.once(
                form.cleaned_data["once"],
                "change model",
                lambda: _model_address(change_model(shown, form.model_facts(), seen=seen)),
            )
        except Stale as stale:
            form.take_refusal(stale)
            shown.refresh_from_db()
            context["now"] = standing_now(form, model_values(shown))
            form.see(shown.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The model's data are corrected.")
    return render(request, "jobs/model_change.html", context, status=form.status)


@role_required(*EVERYBODY)
def positions_take_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a running job the positions that its model's list gained since it began."""
    job = get_object_or_404(Job.objects.select_related("radio__model"), pk=pk)
    address = _model_address(job.radio.model)
    if request.method != "POST":
        return back_to(request, address)
    try:
        done = acts.once(request.POST.get("once"), "take over positions", lambda: _take_over(job, address))
    except Refused as refused:
        return refuse(request, refused.message, back=address)
    return answer_once(request, *done, said=f"Job {job.number} has the new positions.")


def _take_over(job: Job, address: str) -> str:
    take_over(job)
    return address
