"""What sets of a model taught the shop: as a page, as a file, on paper for the bench."""

from collections.abc import Iterator

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.models import RadioModel
from jobs.queries import drawn
from jobs.queries.known import set_cautions
from jobs.queries.model_history import ModelHistory, PlaceHistory, history_of
from jobs.queries.model_history_paper import told
from jobs.queries.model_likes import likes_of
from shop.access import EVERYBODY, role_required
from shop.clock import today
from shop.paper.charts import BarChart, BarSeries
from shop.web.pdf import answer_with
from shop.web.saving import file_of, sheet_of, wants_file

MOST_BARS = 20
COLUMNS = (
    ("Position", lambda one: one.designator),
    ("Role", lambda one: one.role_label),
    ("Called for", lambda one: one.called),
    ("Sets decided on", lambda one: one.sets),
    ("Sets a part went in", lambda one: one.replaced),
    ("Found", lambda one: _listed(one.found)),
    ("Judged", lambda one: _listed(one.faults)),
)


def _listed(counted: tuple[tuple[str, int], ...]) -> str:
    return "; ".join(told(text, count) for text, count in counted)


@role_required(*EVERYBODY)
def model_history(request: HttpRequest, pk: int) -> HttpResponse:
    model = get_object_or_404(RadioModel, pk=pk)
    history = history_of(model)
    if wants_file(request):
        return file_of(request, sheet_of(f"history-of-model-{pk}", COLUMNS, history.places))
    context = {
        "model": model,
        "history": history,
        "chart": _chart(history),
        "likes": likes_of(model) if history.is_empty else None,
        "cautions": set_cautions(model.supply_kind, model.year, model.lineup),
    }
    return render(request, "jobs/model_history.html", context)


@role_required(*EVERYBODY)
def model_history_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.model_history(pk, today()), back=reverse("jobs:model_history", args=[pk]))


def _chart(history: ModelHistory) -> BarChart:
    shown = history.often[:MOST_BARS]
    return BarChart(
        f"Where a part went in, in sets of {history.model}",
        "Position",
        "sets",
        list(_names(shown)),
        [
            BarSeries("a part went in", [one.replaced for one in shown], "sets"),
            BarSeries("left as it was", [one.sets - one.replaced for one in shown], "sets", 2),
        ],
        whole=True,
        empty="No part was fitted in a set of this model yet.",
    )


def _names(places: list[PlaceHistory]) -> Iterator[str]:
    for one in places:
        yield f"{one.designator}  {one.called}".rstrip()
