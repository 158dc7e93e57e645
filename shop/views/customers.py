"""Customers: the list, one card, adding and correcting. What a card shows of sets and jobs is composed here, at the roof."""

import django_tables2 as tables
from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from jobs.models import Job, RadioSet
from shop import acts
from shop.access import role_required
from shop.acts import Refused, Stale
from shop.clock import now
from shop.customers import KnownAlready, add_customer, change_customer, refuse_known
from shop.forms.compare import standing_now
from shop.forms.customer import CustomerChangeForm, CustomerForm, values_of
from shop.models import Customer, Role
from shop.templatetags.shop_tags import day
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import answer_once, wants_fragment
from shop.web.saving import file_of, table_sheet, wants_file

MOST_FOUND = 8


class CustomersTable(tables.Table):
    caption = "Customers"
    name = tables.LinkColumn("shop:customer", args=[tables.A("pk")], verbose_name="Name")
    phone = tables.Column("Telephone", orderable=False)
    email = tables.Column("E-mail", orderable=False)
    set_count = tables.Column("Sets", attrs={"td": {"class": "num"}})
    open_count = tables.Column("In the workshop", attrs={"td": {"class": "num"}})
    last_in_at = tables.Column("Last here", default="")

    also = (("Address", "address"), ("Country", "country"), ("Tax number", "tax_id"), ("Note", "note"))

    class Meta:
        empty_text = "Nobody answers to this. Try part of the name, the telephone number or the e-mail."
        order_by = "name"

    def render_last_in_at(self, value: object) -> str:
        return day(value)  # type: ignore[arg-type]


def _counted(jobs: QuerySet[Job]) -> Coalesce:
    """A subquery each: joining sets and jobs at once would multiply them."""
    rows = jobs.filter(customer=OuterRef("pk")).order_by().values("customer").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(rows), 0)


def _listed(text: str) -> QuerySet[Customer]:
    owned = RadioSet.objects.filter(customer=OuterRef("pk")).order_by().values("customer").annotate(n=Count("pk")).values("n")
    last = Job.objects.filter(customer=OuterRef("pk")).order_by("-taken_in_at").values("taken_in_at")[:1]
    return Customer.objects.matching(text).annotate(
        set_count=Coalesce(Subquery(owned), 0), open_count=_counted(Job.objects.open()), last_in_at=Subquery(last)
    )


@role_required(Role.COUNTER)
@as_left("shop:customers", {"q": ""})
def customer_list(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("q", "")[:200]
    table = CustomersTable(_listed(text), order_by="name")
    leaf_through(request, table)
    if wants_file(request):
        return file_of(request, table_sheet("customers", table))
    context = {"table": table, "text": text, "none_yet": not text and not table.rows}
    return render(request, "shop/customers.html", context)


@role_required(Role.COUNTER)
def customer_lookup(request: HttpRequest) -> HttpResponse:
    """A piece with the first few that match, for typing; asked for as a page, it is the list."""
    if not wants_fragment(request):
        return customer_list(request)
    text = (request.GET.get("who") or request.GET.get("q") or "")[:200]
    found = list(Customer.objects.matching(text)[:MOST_FOUND]) if text.strip() else []
    template = "jobs/_intake_found.html" if request.GET.get("for") == "intake" else "shop/_customers_found.html"
    return render(request, template, {"found": found, "who": text})


@role_required(Role.COUNTER)
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Customer, pk=pk)
    context = {
        "customer": person,
        "sets": person.sets.select_related("model").annotate(job_count=Count("jobs")),  # type: ignore[attr-defined]
        "jobs": person.jobs.with_heads()[:100],  # type: ignore[attr-defined]
    }
    return render(request, "shop/customer.html", context)


@role_required(Role.COUNTER)
def customer_new(request: HttpRequest) -> HttpResponse:
    form = CustomerForm(request.POST or None, initial={"name": request.GET.get("name", "")[:160]})
    alike: list[Customer] = []
    if form.is_valid():
        somebody_else = "somebody_else" in request.POST
        try:
            done = acts.once(form.cleaned_data["once"], "add customer", lambda: _add(form, somebody_else))
        except Refused as refused:
            form.take_refusal(refused)
            alike = refused.alike if isinstance(refused, KnownAlready) else []
        else:
            return answer_once(request, *done, said="The customer's card is written.")
    return render(request, "shop/customer_new.html", {"form": form, "alike": alike}, status=form.status)


def _add(form: CustomerForm, somebody_else: bool) -> str:
    facts = form.customer_facts()
    if not somebody_else:
        refuse_known(facts)
    return reverse("shop:customer", args=[add_customer(facts, at=now()).pk])


@role_required(Role.COUNTER)
def customer_change(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Customer, pk=pk)
    form = CustomerChangeForm(request.POST or None, initial={**values_of(person), "seen": person.version})
    context: dict[str, object] = {"customer": person, "form": form}
    if form.is_valid():
        address = reverse("shop:customer", args=[person.pk])
        try:
            done = acts.once(form.cleaned_data["once"], "change customer", lambda: _change(person, form, address))
        except Stale as stale:
            form.take_refusal(stale)
            person.refresh_from_db()
            context["now"] = standing_now(form, values_of(person))
            form.see(person.version)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The customer's card is corrected.")
    return render(request, "shop/customer_change.html", context, status=form.status)


def _change(person: Customer, form: CustomerChangeForm, address: str) -> str:
    change_customer(person, form.customer_facts(), seen=form.cleaned_data["seen"])
    return address
