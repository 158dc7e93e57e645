"""Counting a drawer: the list without figures, the variances once all is entered, booking them, and the counts there were."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory import services
from inventory.exports import counts_sheet
from inventory.forms.count import BookForm, EnterForm, FoundForm
from inventory.models import Drawer, DrawerCount, Lot
from inventory.queries.counts import counts, lines_of, longest_uncounted, with_variances, worth_milli
from inventory.views.acting import terms
from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Role
from shop.web.forms import SeenForm, TradeForm
from shop.web.pages import answer_once, page_of, refuse
from shop.web.press import press, seen_in
from shop.web.saving import file_of, wants_file


def _load(pk: int) -> DrawerCount:
    return get_object_or_404(DrawerCount.objects.select_related("drawer", "opened_by", "booked_by"), pk=pk)


def _address(count: DrawerCount) -> str:
    return reverse("inventory:counting", args=[count.pk])


@role_required(*EVERYBODY)
def count_list(request: HttpRequest) -> HttpResponse:
    if wants_file(request):
        with_cost = staff_of(request).role != Role.COUNTER
        return file_of(request, counts_sheet(terms(request).currency, with_cost=with_cost))
    page = page_of(request, counts())
    context = {"page": page, "booked": with_variances(list(page.object_list)), "waiting": longest_uncounted()}
    return render(request, "inventory/count_list.html", context)


@role_required(Role.BENCH)
@require_POST
def count_begin(request: HttpRequest, pk: int) -> HttpResponse:
    """The same button pressed twice, or by two people, finds the one count that is open."""
    drawer, person = get_object_or_404(Drawer, pk=pk), staff_of(request)
    back = reverse("inventory:drawer", args=[pk])

    def work() -> str:
        return _address(services.open_count(drawer, person=person, at=now()))

    try:
        where, done = acts.once(request.POST.get("once"), "begin count", work)
    except Refused as refused:
        return refuse(request, refused.message, back=back)
    return answer_once(request, where, done, said=f"Count what lies in drawer {drawer}. The ledger's figures come afterwards.")


@role_required(*EVERYBODY)
def counting(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, _load(pk))


def _show(request: HttpRequest, count: DrawerCount, **forms: TradeForm) -> HttpResponse:
    """The page as the count stands: open to be entered, entered with its variances, or booked."""
    lines = lines_of(count)
    context: dict[str, Any] = {"count": count, "lines": lines, "worth_milli": worth_milli(lines)}
    start = {"seen": count.version}
    if count.is_open and count.counted_at is None:
        context["form"] = EnterForm(initial=start, lines=[line.line for line in lines])
        context["found"] = FoundForm(initial=start)
    elif count.is_open:
        context["form"] = BookForm(initial=start, lines=lines)
    context.update(forms)
    status = max((form.status for form in forms.values()), default=200)
    return render(request, "inventory/counting.html", context, status=status)


def _carry(request: HttpRequest, count: DrawerCount, form: SeenForm, name: str, work: Callable[[], str]) -> HttpResponse | None:
    """Do it once; a refusal is shown on the page with what was typed, a stale one lets the next sending count as seen."""
    try:
        where, done = acts.once(form.cleaned_data["once"], name, work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(_load(count.pk).version)
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, said=_said(_load(count.pk)))


def _said(count: DrawerCount) -> str:
    if count.booked_at is not None:
        return f"The count of drawer {count.drawer} is booked."
    if count.counted_at is not None:
        return "All is entered. Here is what the ledger says."
    return "What was counted is kept. The lots still open here are to be counted, some of them once more: parts came or went."


@role_required(Role.BENCH)
@require_POST
def count_enter(request: HttpRequest, pk: int) -> HttpResponse:
    count = _load(pk)
    form = EnterForm(request.POST, lines=[line.line for line in lines_of(count)])

    def work() -> str:
        services.enter(count, form.entered(), at=now(), seen=form.cleaned_data["seen"])
        return _address(count)

    answer = _carry(request, count, form, "enter count", work) if form.is_valid() else None
    return answer or _show(request, _load(pk), form=form)


@role_required(Role.BENCH)
@require_POST
def count_found(request: HttpRequest, pk: int) -> HttpResponse:
    count, form = _load(pk), FoundForm(request.POST)
    lot = Lot.objects.filter(pk=form.cleaned_data["lot"]).first() if form.is_valid() else None
    if form.is_valid() and lot is None:
        form.add_error("lot", "There is no lot of that number. It stands on the bag's label; else receive the parts first.")
    if not form.is_valid() or lot is None:
        return _show(request, count, found=form)

    def work() -> str:
        services.add_found(count, lot, seen=form.cleaned_data["seen"])
        return _address(count)

    try:
        where, done = acts.once(form.cleaned_data["once"], "add found lot", work)
    except Refused as refused:
        form.take_refusal(refused)
        return _show(request, _load(pk), found=form)
    return answer_once(request, where, done, said=f"Lot {lot.pk} is on the list.")


@role_required(Role.BENCH)
@require_POST
def count_book(request: HttpRequest, pk: int) -> HttpResponse:
    count = _load(pk)
    form = BookForm(request.POST, lines=lines_of(count))

    def work() -> str:
        services.book_count(count, form.reasons(), person=staff_of(request), at=now(), seen=form.cleaned_data["seen"])
        return _address(count)

    answer = _carry(request, count, form, "book count", work) if form.is_valid() else None
    return answer or _show(request, _load(pk), form=form)


@role_required(Role.BENCH)
@require_POST
def count_again(request: HttpRequest, pk: int) -> HttpResponse:
    count, seen = _load(pk), seen_in(request)
    said = "Nothing is booked. Count once more."
    return press(request, "count again", lambda: services.count_again(count, seen=seen), _address(count), said)


@role_required(Role.BENCH)
@require_POST
def count_drop(request: HttpRequest, pk: int) -> HttpResponse:
    count, seen = _load(pk), seen_in(request)
    address, said = reverse("inventory:drawer", args=[count.drawer_id]), "The count is dropped; nothing moved."
    return press(request, "drop count", lambda: services.drop_count(count, at=now(), seen=seen), address, said)
