"""The lawful sale of a set that nobody collected, its papers, and the money that it leaves for the owner of the set."""

from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from billing import drawn
from billing.forms import PayOutForm, SaleForm
from billing.queries.sales import left_in_all, sales, sales_in_order, unsettled_for_sale
from billing.services.uncollected import PayOut, Sale, pay_out, sell
from billing.views.collecting import clock_here, not_waiting
from billing.views.uncollected import owed_minor
from jobs.models import Job
from jobs.queries.collection import DEFER, Clock
from jobs.queries.missing import safety_missing
from shop import acts
from shop.access import role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.jurisdictions.codes import SALE_WAYS
from shop.models import Profile, Role
from shop.money import amount, show
from shop.place import rules_of
from shop.web.context import shop_currency
from shop.web.leafing import Leaf
from shop.web.pages import answer_once, page_of, refuse
from shop.web.pdf import answer_with
from shop.web.saving import Columns, file_of, in_batches, sheet_of, wants_file


@role_required(Role.OWNER)
def sell_uncollected(request: HttpRequest, pk: int) -> HttpResponse:
    job = get_object_or_404(Job.objects.with_heads(), pk=pk)
    clock, rules = clock_here(pk)
    if clock is None and request.method != "POST":
        return not_waiting(request, job)
    unproven = safety_missing(job)
    owed = owed_minor([job]).get(pk, 0)
    form = SaleForm(request.POST or None, unproven=bool(unproven), initial={"sold_on": today(), "seen": job.version})
    answer = _sell(request, job, form) if form.is_valid() else None
    context = {
        "form": form,
        "job": job,
        "clock": clock,
        "rules": rules,
        "rule": rules.uncollected,
        "way": SALE_WAYS[rules.uncollected.sale.way],
        "against": _against(clock),
        "unsettled": unsettled_for_sale(job),
        "unproven": unproven,
        "owed": owed,
        "defer": DEFER,
    }
    return answer or render(request, "billing/sell.html", context, status=form.status)


def _against(clock: Clock | None) -> list[Any]:
    return clock.against() if clock else []


def _sell(request: HttpRequest, job: Job, form: SaleForm) -> HttpResponse | None:
    data, person = form.cleaned_data, staff_of(request)
    sale = Sale(
        data["sold_on"],
        data["price"],
        data["to_whom"],
        data["how"],
        costs_minor=data["costs"] or 0,
        costs_text=data["costs_text"],
        auctioned=data["auctioned"],
        how_disabled=data.get("how_disabled", ""),
        checked=data["checked"],
    )

    def work() -> str:
        made = sell(job, sale, person=person, at=now(), seen=data["seen"])
        return reverse("billing:sale", args=[made.pk])

    try:
        where, done = acts.once(data["once"], "sell uncollected", work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(Job.objects.get(pk=job.pk).version)
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    said = f"The sale of the set of job {job.number} is written down. Send its account to the owner of the set."
    return answer_once(request, where, done, said)


def _load(pk: int) -> Any:
    return get_object_or_404(sales(), pk=pk)


@role_required(Role.COUNTER)
def sale(request: HttpRequest, pk: int) -> HttpResponse:
    made, rules = _load(pk), rules_of(Profile.current())
    surplus = rules.uncollected.surplus
    handed_on = _handed_on(made.sold_on, surplus.days)
    context = {
        "sale": made,
        "job": made.job,
        "paid": made.surplus_payments.select_related("person"),
        "handed": made.job.hand_over,
        "short": max(owed_minor([made.job]).get(made.job_id, 0), 0),
        "surplus": surplus,
        "goes_on": handed_on,
        "is_due": handed_on is not None and handed_on <= today() and made.left > 0,
    }
    return render(request, "billing/sale.html", context)


def _handed_on(sold_on: date, days: int | None) -> date | None:
    return None if days is None else sold_on + timedelta(days=days)


@role_required(Role.COUNTER)
def surplus(request: HttpRequest) -> HttpResponse:
    """Every sale, those with money left for the owner of the set first."""
    listed = sales().order_by("-left", "-sold_on", "-pk")
    if wants_file(request):
        return file_of(request, sheet_of("sales-uncollected", _columns(shop_currency()), in_batches(listed)))
    context = {
        "page": _page(request),
        "rules": rules_of(Profile.current()),
        "left": left_in_all(),
    }
    return render(request, "billing/surplus.html", context)


def _page(request: HttpRequest) -> Leaf:
    """Put in order by keys alone; the rows of one page are read."""
    leaf = page_of(request, sales_in_order())
    rows = sales().in_bulk(leaf.object_list)
    leaf.object_list = [rows[pk] for pk in leaf.object_list]
    return leaf


def _columns(currency: str) -> Columns:
    return (
        ("Sold", lambda one: one.sold_on),
        ("Job", lambda one: one.job.number),
        ("Set", lambda one: one.job.radio),
        ("Owner of the set", lambda one: one.job.customer),
        ("Buyer", lambda one: one.to_whom),
        ("Price", lambda one: amount(one.price_minor, currency)),
        ("Costs", lambda one: amount(one.costs_minor, currency)),
        ("Was owed", lambda one: amount(one.owed_minor, currency)),
        ("For the owner", lambda one: amount(one.surplus_minor, currency)),
        ("Left", lambda one: amount(one.left, currency)),
        ("Currency", lambda one: currency),
    )


@role_required(Role.COUNTER)
def surplus_out(request: HttpRequest, pk: int) -> HttpResponse:
    made, back = _load(pk), reverse("billing:sale", args=[pk])
    if made.left <= 0 and request.method != "POST":
        return refuse(request, f"Nothing is left of the sale of job {made.job.number}.", back=back)
    start = {"amount": made.left, "to_whom": made.job.customer.name, "seen": made.left}
    form = PayOutForm(request.POST or None, initial=start)
    answer = _pay_out(request, made, form, back) if form.is_valid() else None
    context = {
        "form": form,
        "sale": made,
        "job": made.job,
        "back": back,
        "surplus": rules_of(Profile.current()).uncollected.surplus,
    }
    return answer or render(request, "billing/surplus_out.html", context, status=form.status)


def _pay_out(request: HttpRequest, made: Any, form: PayOutForm, back: str) -> HttpResponse | None:
    data, person = form.cleaned_data, staff_of(request)
    money = PayOut(data["amount"], data["to_whom"], data["how"], data["note"])

    def work() -> str:
        pay_out(made, money, person=person, at=now(), seen=data["seen"])
        return back

    try:
        where, done = acts.once(data["once"], "pay surplus", work)
    except Stale as stale:
        form.take_refusal(stale)
        form.see(sales().get(pk=made.pk).left)
        return None
    except Refused as refused:
        form.take_refusal(refused)
        return None
    return answer_once(request, where, done, f"{show(money.amount_minor, shop_currency())} paid to {money.to_whom}.")


@role_required(Role.COUNTER)
def sale_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The account of the sale, for the owner of the set."""
    return answer_with(lambda: drawn.sale_account(pk, written_on=today()), back=reverse("billing:sale", args=[pk]))


@role_required(Role.COUNTER)
def buyer_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """What the buyer takes along: the set, the price, and whether it is proven safe."""
    return answer_with(lambda: drawn.buyers_paper(pk), back=reverse("billing:sale", args=[pk]))
