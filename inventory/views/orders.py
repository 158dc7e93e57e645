"""Orders: the list, one order, writing one, sending and dropping it, its paper and its table."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST

from inventory.filters import OPEN, OrderFilter
from inventory.forms.order import OrderHeadForm, OrderNewForm
from inventory.models import Order
from inventory.queries import drawn
from inventory.queries.exchange import carriage_by_terms
from inventory.queries.order_paper import HEADINGS, order_rows
from inventory.queries.orders import OrderStanding, listed, standing_of
from inventory.services import ordering, orders
from inventory.tables import OrderTable
from inventory.views.acting import Now, carry_out, edit, terms
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.clock import now, today
from shop.models import Role
from shop.money import show
from shop.tabular import CSV_TYPE, csv_bytes
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import Confirmation, Undo, answer_once, confirm, go
from shop.web.pdf import Way, answer_with
from shop.web.press import press, seen_in
from shop.web.saving import file_of, table_sheet, wants_file


def load(pk: int) -> Order:
    return get_object_or_404(Order.objects.select_related("supplier", "made_by", "sent_by"), pk=pk)


def page_of_order(pk: int) -> str:
    return reverse("inventory:order", args=[pk])


def standing(request: HttpRequest, order: Order) -> OrderStanding:
    return standing_of(order, terms(request).currency, today())


@role_required(*EVERYBODY)
@as_left("inventory:orders", {"q": "", "supplier": "", "show": OPEN}, OrderFilter)
def order_list(request: HttpRequest) -> HttpResponse:
    found = OrderFilter(request.GET, queryset=listed())
    table = OrderTable(found.qs, profile=terms(request), today=today())
    leaf_through(request, table, shown=listed())
    if wants_file(request):
        return file_of(request, table_sheet("orders", table))
    any_order = bool(table.page.object_list) or Order.objects.exists()
    return render(request, "inventory/order_list.html", {"found": found, "table": table, "any_order": any_order})


@role_required(Role.BENCH, Role.COUNTER)
def order_new(request: HttpRequest) -> HttpResponse:
    """`?supplier=` chooses one beforehand."""
    form = OrderNewForm(request.POST or None, initial={"supplier": request.GET.get("supplier", "")[:18]})

    def work() -> str:
        made = orders.draft_order(form.cleaned_data["supplier"], (), person=staff_of(request), at=now())
        return reverse("inventory:order_line_add", args=[made.pk])

    if form.is_bound and (done := carry_out(form, "new order", work)):
        return answer_once(request, *done, said="The order is begun. Add what it is for; it is sent only when you say so.")
    return render(request, "inventory/order_new.html", {"form": form}, status=form.status)


@role_required(*EVERYBODY)
def order(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    return _show(request, one, _head_form(one))


def _head_values(one: Order) -> dict[str, object]:
    return {"carriage": one.carriage_minor, "note": one.note}


def _head_form(one: Order, data: object = None) -> OrderHeadForm:
    return OrderHeadForm(data, initial={**_head_values(one), "seen": one.version}, currency=one.currency)


def _show(request: HttpRequest, one: Order, form: OrderHeadForm, stands: Now = None) -> HttpResponse:
    known = standing(request, one)
    context = {
        "order": one,
        "standing": known,
        "form": form,
        "by_terms_minor": carriage_by_terms(one.supplier, known.goods_minor),
        "now": stands,
    }
    return render(request, "inventory/order.html", context, status=form.status)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def order_head(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    form = _head_form(one, request.POST)

    def work() -> str:
        typed = form.cleaned_data
        orders.change_head(one, note=typed["note"], carriage_minor=typed["carriage"] or 0, seen=typed["seen"])
        return page_of_order(pk)

    done, stands = edit(form, "order head", work, lambda: (load(pk).version, _head_values(load(pk))))
    if done:
        return answer_once(request, *done, said="Carriage and note are written on the order.")
    return _show(request, load(pk), form, stands)


@role_required(Role.BENCH, Role.COUNTER)
def order_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Asked for by GET, the page before; nothing goes out by itself: the paper is the person's to send."""
    one, address = load(pk), page_of_order(pk)
    if request.method == "POST":
        person, seen = staff_of(request), seen_in(request)
        said = "The order is numbered and frozen. Send its paper or its table to the supplier."
        return press(request, "send order", lambda: ordering.send_order(one, person=person, at=now(), seen=seen), address, said)
    if not one.is_draft:
        return go(request, address)
    known, locale = standing(request, one), terms(request).locale
    facts = [
        ("Supplier", str(one.supplier)),
        ("Lines", str(len(known.lines))),
        ("Goods", show(known.goods_minor, one.currency, locale)),
        ("Carriage", show(one.carriage_minor, one.currency, locale)),
        ("Total without tax", show(known.total_minor, one.currency, locale)),
    ]
    if known.short_of_smallest_minor:
        smallest = show(one.supplier.minimum_order_minor, one.currency, locale)
        facts.append(("Look", f"below their smallest order of {smallest}"))
    asked = Confirmation(
        title=f"Send the order to {one.supplier}?",
        warning="It gets its number and can’t be changed afterwards. What is not on it goes on another order.",
        act="Send it",
        url=reverse("inventory:order_send", args=[pk]),
        back=address,
        facts=facts,
        hidden={"seen": one.version},
    )
    return confirm(request, asked)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def order_drop(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    undo = Undo(reverse("inventory:order_take_up", args=[pk]), "Write on it again")
    said = "The draft is dropped. Nothing was ordered by it."
    return press(request, "drop order", lambda: orders.drop_draft(one, at=now()), page_of_order(pk), said, undo)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def order_take_up(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    said = "The order is being written again."
    return press(request, "take order up", lambda: orders.take_up_again(one), page_of_order(pk), said)


@role_required(*EVERYBODY)
def order_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    send = [Way("Send it", reverse("inventory:order_send", args=[pk]), is_main=True)] if _may_be_sent(request, one) else []
    return answer_with(lambda: drawn.order(pk, terms(request), today()), back=page_of_order(pk), ways=send)


def _may_be_sent(request: HttpRequest, one: Order) -> bool:
    return one.is_draft and one.lines.exists() and may(request.user, Role.BENCH, Role.COUNTER)  # type: ignore[attr-defined]


@role_required(*EVERYBODY)
def order_csv(request: HttpRequest, pk: int) -> HttpResponse:
    one = load(pk)
    answer = HttpResponse(csv_bytes(HEADINGS, order_rows(standing(request, one))), content_type=CSV_TYPE)
    answer["Content-Disposition"] = content_disposition_header(True, f"{_file_name(one)}.csv") or "attachment"
    return answer


def _file_name(one: Order) -> str:
    return f"order-{one.number or 'draft'}"
