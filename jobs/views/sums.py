"""Bench sums: choose one, give its figures, read the answer. It keeps nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.bench.problems import BenchError
from jobs.bench.sums import SUMS, Sum, figure_text
from jobs.forms.sums import SumForm
from shop.access import EVERYBODY, role_required


@role_required(*EVERYBODY)
def sums(request: HttpRequest) -> HttpResponse:
    wanted = SUMS.get(request.GET.get("sum", ""))
    if wanted is None:
        return render(request, "jobs/sums.html", {"sums": SUMS.values()})
    is_sent = any(ask.name in request.GET for ask in wanted.asks)
    form = SumForm(request.GET if is_sent else None, wanted=wanted)
    context = {"sums": SUMS.values(), "wanted": wanted, "form": form, "answer": _answer(form, wanted)}
    if context["answer"]:
        context["given"] = [(ask.label, figure_text(figure, ask)) for ask, figure in zip(wanted.asks, form.figures, strict=True)]
    return render(request, "jobs/sums.html", context, status=form.status)


def _answer(form: SumForm, wanted: Sum) -> str:
    """The answer; empty where something is lacking or can't be done, which the form then says."""
    if not form.is_bound or not form.is_valid():
        return ""
    try:
        return wanted.answer(form.figures)
    except BenchError as error:
        form.add_error(None, error.message)
        return ""
