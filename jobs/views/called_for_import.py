"""A called-for list out of a pasted table or a CSV file: read, shown line by line, confirmed, then kept."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from jobs.forms.models import TableForm, answers_sent, layout_sent
from jobs.models import RadioModel
from jobs.queries.called_for_merge import MergeLine, merge_lines, merged
from jobs.queries.called_for_table import (
    COLUMNS,
    DELIMITERS,
    ENCODINGS,
    Layout,
    TableError,
    cells_of,
    decode,
    numbered_lines,
    read_table,
)
from jobs.views.models import save_rows, standing_rows
from shop import acts
from shop.access import EVERYBODY, role_required
from shop.acts import Refused, Stale
from shop.web.pages import answer_once


@role_required(*EVERYBODY)
def called_for_import(request: HttpRequest, pk: int) -> HttpResponse:
    model = get_object_or_404(RadioModel, pk=pk)
    form = TableForm(request.POST or None, request.FILES or None, initial={"seen": model.version})
    if request.method != "POST" or not form.is_valid():
        return _table_page(request, model, form)
    text, encoding = _text_of(form)
    if not text.strip():
        if not form.errors:
            form.add_error("table", "There is no table in it. Paste one, or choose a file.")
        return _table_page(request, model, form)
    return _preview(request, model, form, text, encoding)


def _text_of(form: TableForm) -> tuple[str, str]:
    """The table's text, and the encoding where it came from a file; what is no text is told at the field."""
    content = form.cleaned_data["file"]
    if not content:
        return form.cleaned_data["table"], ""
    try:
        text, encoding = decode(content, form.cleaned_data["encoding"])
        return text, ENCODINGS[encoding]
    except TableError as error:
        form.add_error("file", str(error))
        return "", ""


def _table_page(request: HttpRequest, model: RadioModel, form: TableForm) -> HttpResponse:
    return render(request, "jobs/called_for_import.html", {"model": model, "form": form}, status=form.status)


def _preview(request: HttpRequest, model: RadioModel, form: TableForm, text: str, encoding: str) -> HttpResponse:
    layout = layout_sent(request.POST, text)
    merge = merge_lines(read_table(text, layout, answers_sent(request.POST)), standing_rows(model), layout)
    if "save" in request.POST:
        try:
            done = acts.once(form.cleaned_data["once"], "import called-for list", lambda: _keep(model, merge, form))
        except Stale as stale:
            form.take_refusal(stale)
            model.refresh_from_db()
            form.see(model.version)
            merge = merge_lines([one.line for one in merge], standing_rows(model), layout)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The good lines are kept in the called-for list.")
    return _preview_page(request, model, form, {"text": text, "encoding": encoding, "layout": layout, "merge": merge})


def _keep(model: RadioModel, merge: list[MergeLine], form: TableForm) -> str:
    if all(one.state in ("refused", "same") for one in merge):
        raise Refused("No line adds or changes anything, so nothing was kept.")
    return save_rows(model, merged(standing_rows(model), merge), seen=form.cleaned_data["seen"])


def _preview_page(request: HttpRequest, model: RadioModel, form: TableForm, read: dict[str, Any]) -> HttpResponse:
    layout: Layout = read["layout"]
    first = next(iter(numbered_lines(read["text"])), (1, ""))[1]
    sample = cells_of(first, layout.delimiter)
    columns = [(at, field, sample[at] if at < len(sample) else "") for at, field in enumerate(layout.columns)]
    answers = answers_sent(request.POST)
    counts = {state: sum(one.state == state for one in read["merge"]) for state in ("added", "changed", "same", "refused")}
    context = {
        **read,
        "model": model,
        "form": form,
        "columns": columns,
        "column_names": COLUMNS.items(),
        "delimiters": list(DELIMITERS),
        "counts": counts,
        "settled": [(one.line.number, answers[one.line.number]) for one in read["merge"] if _is_settled(one, answers)],
        "worth_saving": counts["added"] + counts["changed"],
    }
    return render(request, "jobs/called_for_preview.html", context, status=form.status)


def _is_settled(one: MergeLine, answers: dict[int, str]) -> bool:
    """Its radio buttons are no longer drawn, so the answer travels on unseen."""
    return one.line.number in answers and one.state != "refused"
