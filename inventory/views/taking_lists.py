"""A new price list on its way in: sent, its columns confirmed, tried, taken in or left."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.forms.price_list import ColumnsForm, ListFileForm, TakeListForm, asked_by, start_of
from inventory.models import Supplier
from inventory.price_lists.layout import CSV, Layout
from inventory.price_lists.lines import DAY_MARK
from inventory.price_lists.problems import ListRefused
from inventory.price_lists.reading import rejected_lines
from inventory.price_lists.rows import sheet_names
from inventory.queries.list_proposals import Proposal, last_layout, propose
from inventory.services import price_lists, waiting_lists
from inventory.services.price_lists import Outcome, currency_for
from inventory.services.waiting_lists import Waiting
from inventory.views.acting import carry_out
from inventory.views.price_lists import SESSION, csv_file, supplier_of, waiting_of
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.models import Role
from shop.tabular import Cell, csv_bytes
from shop.web.pages import answer_once, go, refuse, tell, warn
from shop.web.press import press

NONE_WAITS = "No file waits here. A file is kept for a day, for the one who sent it; send it again."
CHANGED = "Another file was sent for this supplier since this page was opened. Look at the one that waits now."
REJECTS_SHOWN = 20
ROWS_SHOWN = 15


@role_required(Role.COUNTER)
def price_list_new(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = supplier_of(pk)
    form = ListFileForm(request.POST or None, request.FILES or None)

    def work() -> str:
        waiting = waiting_lists.keep(form.cleaned_data["file"], supplier, person=staff_of(request), at=now())
        _let_wait(request, supplier, waiting)
        return reverse("inventory:price_list_columns", args=[pk])

    if form.is_bound and (done := carry_out(form, "send price list", work)):
        return answer_once(request, *done, said="The file is here. Check how it is read.")
    return render(request, "inventory/price_list_new.html", {"form": form, "supplier": supplier}, status=form.status)


def _let_wait(request: HttpRequest, supplier: Supplier, waiting: Waiting | None) -> None:
    """One file a supplier waits; the one before it is thrown away."""
    if (before := waiting_of(request, supplier)) is not None:
        waiting_lists.drop(before)
    kept = {name: key for name, key in request.session.get(SESSION, {}).items() if name != str(supplier.pk)}
    request.session[SESSION] = kept if waiting is None else {**kept, str(supplier.pk): waiting.key}


def _to_lists(request: HttpRequest, supplier: Supplier, text: str = NONE_WAITS) -> HttpResponse:
    warn(request, text)
    return go(request, "inventory:price_lists", supplier.pk)


@role_required(Role.COUNTER)
def price_list_columns(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = supplier_of(pk)
    waiting = waiting_of(request, supplier)
    if waiting is None:
        return _to_lists(request, supplier)
    try:
        proposal = _proposal(request, supplier, waiting)
    except ListRefused as refused:
        return refuse(request, refused.message, back=reverse("inventory:price_list_new", args=[pk]))
    form = _columns_form(request, waiting, proposal)
    if form.is_valid() and _confirmed(supplier, waiting, form):
        return go(request, "inventory:price_list_trial", pk)
    context = {"form": form, "supplier": supplier, "waiting": waiting, "proposal": proposal}
    context |= {"shown": _as_read(proposal), "first_row": proposal.layout.first_row}
    return render(request, "inventory/price_list_columns.html", context, status=form.status)


def _proposal(request: HttpRequest, supplier: Supplier, waiting: Waiting) -> Proposal:
    """As the file was tried before, else as the last one was read; then as the person chose just now."""
    trial = waiting.trial()
    currency, asked = currency_for(supplier), trial.layout if trial else None
    tried = asked
    if request.method == "POST":
        sheets = sheet_names(waiting.path) if waiting.kind != CSV else ()
        asked = asked_by(request.POST, tried or Layout(waiting.kind, currency, waiting.encoding), sheets)
    last = last_layout(supplier, currency)
    return _with_columns(propose(waiting.path, waiting.kind, waiting.encoding, currency, last, asked), tried)


def _with_columns(shown: Proposal, tried: Layout | None) -> Proposal:
    if tried is None or list(tried.headings) != list(shown.layout.headings):
        return shown
    return replace(shown, layout=replace(shown.layout, columns=tried.columns), notes=())


def _as_read(proposal: Proposal) -> list[tuple[int, list[str]]]:
    """The first rows, each as wide as the widest; a day that a spreadsheet made shows as a day."""
    width = proposal.sample.width
    rows = proposal.sample.rows[:ROWS_SHOWN]
    return [(number, [cell.lstrip(DAY_MARK) for cell in [*cells, *[""] * width][:width]]) for number, cells in rows]


def _columns_form(request: HttpRequest, waiting: Waiting, proposal: Proposal) -> ColumnsForm:
    """Bound once it is to be tried; where only the rows are to be shown another way, it starts anew with what was chosen."""
    start = start_of(proposal.layout, waiting.key)
    if request.method == "POST" and "again" not in request.POST:
        return ColumnsForm(request.POST, initial=start, proposal=proposal)
    if request.method == "POST":
        start |= {name: request.POST[name] for name in ("currency", "price_for") if request.POST.get(name)}
        start["is_whole"] = "is_whole" in request.POST
        meanings = {name: value for name, value in request.POST.items() if name.startswith(("means_", "from_"))}
        if any(meanings.values()) and sum(name.startswith("means_") for name in meanings) == proposal.sample.width:
            start |= meanings
    return ColumnsForm(initial=start, proposal=proposal)


def _confirmed(supplier: Supplier, waiting: Waiting, form: ColumnsForm) -> bool:
    """Tries the file; False where that was refused, which the form then says."""
    if form.cleaned_data["seen"] != waiting.key:
        form.add_error(None, CHANGED)
        return False
    try:
        price_lists.try_list(waiting, form.layout(), supplier)
    except Refused as refused:
        form.take_refusal(refused)
        return False
    return True


@role_required(Role.COUNTER)
def price_list_trial(request: HttpRequest, pk: int) -> HttpResponse:
    """What came out of trying; sent, it takes in what this page showed."""
    supplier = supplier_of(pk)
    waiting = waiting_of(request, supplier)
    trial = waiting.trial() if waiting else None
    form = TakeListForm(request.POST or None, initial={"seen": trial.mark if trial else ""})
    outcome: list[Outcome] = []

    def work() -> str:
        shown = waiting.trial(form.cleaned_data["seen"]) if waiting else None
        if shown is None:
            raise Refused(NONE_WAITS if waiting is None else CHANGED)
        outcome.append(price_lists.take_list(shown, person=staff_of(request), at=now()))
        return reverse("inventory:price_list", args=[outcome[0].price_list.pk])

    if form.is_bound and (done := carry_out(form, "take price list", work)):
        return _taken(request, supplier, done, outcome)
    if form.is_bound:
        # Another request may have taken the file in while this one was refused.
        waiting = waiting_of(request, supplier)
        trial = waiting.trial() if waiting else None
    if waiting is None or trial is None:
        return _to_lists(request, supplier) if waiting is None else go(request, "inventory:price_list_columns", pk)
    context: dict[str, Any] = {"form": form, "supplier": supplier, "waiting": waiting, "layout": trial.layout}
    context |= {"effect": trial.effect, "rejects": _first_rejects(trial.rejects)}
    return render(request, "inventory/price_list_trial.html", context, status=form.status)


def _first_rejects(path: Path) -> list[tuple[int, str, str]]:
    return [(one.number, one.reason, one.code) for one in islice(rejected_lines(path), REJECTS_SHOWN)]


def _taken(request: HttpRequest, supplier: Supplier, done: tuple[str, bool], outcome: list[Outcome]) -> HttpResponse:
    if not outcome:
        return answer_once(request, *done, said="")
    _let_wait(request, supplier, None)
    if outcome[0].is_new:
        tell(request, "The list is taken in. Orders and lots keep the prices they were written with.")
    else:
        warn(request, "This file was taken in before, and reads the same: nothing changed. This is what it did then.")
    return go(request, done[0])


@role_required(Role.COUNTER)
def price_list_trial_rejects(request: HttpRequest, pk: int) -> HttpResponse:
    """Every line that would not be taken, as it stands in the file."""
    supplier = supplier_of(pk)
    waiting = waiting_of(request, supplier)
    trial = waiting.trial() if waiting else None
    if trial is None:
        return _to_lists(request, supplier)
    rows: Iterator[list[Cell]] = ([one.number, one.reason, one.code, *one.cells] for one in rejected_lines(trial.rejects))
    headings = trial.layout.headings if trial.layout else ()
    return csv_file(csv_bytes(("Line", "Reason", "Order code", *headings), rows), f"rejected-{supplier.pk}.csv")


@role_required(Role.COUNTER)
def price_list_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """How far the trial or the taking in got, for the bar of the page that waits for it."""
    waiting = waiting_of(request, supplier_of(pk))
    return JsonResponse((waiting.noted("progress") if waiting else None) or {"what": "", "share": 0})


@role_required(Role.COUNTER)
@require_POST
def price_list_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Of the one reading or taking in that is under way; it answers that it was stopped. Asking twice asks the same."""
    supplier = supplier_of(pk)
    waiting = waiting_of(request, supplier)
    if waiting is None:
        return _to_lists(request, supplier)
    waiting.ask_stop()
    return go(request, "inventory:price_lists", pk)


@role_required(Role.COUNTER)
@require_POST
def price_list_leave(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = supplier_of(pk)
    address = reverse("inventory:price_lists", args=[pk])
    said = "The file is thrown away. No offer changed."
    return press(request, "leave price list", lambda: _let_wait(request, supplier, None), address, said)
