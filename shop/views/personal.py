"""What is held of a customer: a copy for them, what could be erased and what stays, erasing it, refusing a request."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop import acts, long_work
from shop.access import may, role_required, staff_of
from shop.acts import Refused
from shop.clock import now, today
from shop.forms.personal import EraseForm, RefusalForm
from shop.long_work import Asked
from shop.models import ActOnce, Customer, DataRequestKind, Profile, Role
from shop.personal.erasing import COPY, Wish, erase, write_refusal
from shop.personal.plan import plan_of
from shop.place import rules_of
from shop.web.forms import TradeForm
from shop.web.pages import answer_once
from shop.web.press import press
from shop.web.work_line import remember

BEGUN = "The copy is being made. This page says how far it got; its file waits here for a week."
ERASED = "Erased, as far as nothing keeps it. Tell them what stays, and until when; it stands below."


@role_required(Role.COUNTER)
def customer_data(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, get_object_or_404(Customer, pk=pk))


def _show(request: HttpRequest, customer: Customer, sent: TradeForm | None = None) -> HttpResponse:
    """A refused form stands in its place with everything typed; what would be erased is always as it is now."""
    rules, day = rules_of(Profile.current()), today()
    plan = plan_of(customer, day, rules)
    erasing = {"kind": DataRequestKind.CLOCK if plan.has_ended else DataRequestKind.ERASE, "asked_on": day}
    if isinstance(sent, EraseForm):
        sent.see(plan.fingerprint)
    fresh = EraseForm(customer=customer, has_ended=plan.has_ended, initial={**erasing, "digest": plan.fingerprint})
    context = {
        "customer": customer,
        "plan": plan,
        "requests": customer.data_requests.select_related("person"),  # type: ignore[attr-defined]
        "erase_form": sent if isinstance(sent, EraseForm) else fresh,
        "refusal_form": sent if isinstance(sent, RefusalForm) else RefusalForm(initial={"asked_on": day}),
        "may_erase": may(request.user, Role.OWNER),
        "retention": rules.retention,
    }
    return render(request, "shop/customer_data.html", context, status=sent.status if sent else 200)


@role_required(Role.COUNTER)
@require_POST
def customer_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin the copy as long work; whoever began it and the owner take its file."""
    customer = get_object_or_404(Customer, pk=pk)
    root = request.build_absolute_uri("/").rstrip("/")
    back = reverse("shop:customer_data", args=[pk])

    def work() -> None:
        asked = Asked(COPY, f"Copy of what is held of {customer.name}", {"customer": customer.pk, "root": root})
        remember(request, long_work.begin(asked, person=staff_of(request), at=now(), back=back))

    return press(request, "begin data_copy", work, reverse("shop:works"), BEGUN)


@role_required(Role.OWNER)
@require_POST
def customer_erase(request: HttpRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(Customer, pk=pk)
    has_ended = plan_of(customer, today(), rules_of(Profile.current())).has_ended
    form = EraseForm(request.POST, customer=customer, has_ended=has_ended)

    def work() -> str:
        typed = form.cleaned_data
        wish = Wish(typed["kind"], typed["asked_on"], typed["how"], typed["note"])
        erase(customer, wish, seen=typed["digest"], person=staff_of(request), at=now())
        return reverse("shop:customer_data", args=[pk])

    return _act(request, customer, form, "erase customer", work, ERASED)


@role_required(Role.OWNER)
@require_POST
def customer_refuse(request: HttpRequest, pk: int) -> HttpResponse:
    customer, form = get_object_or_404(Customer, pk=pk), RefusalForm(request.POST)

    def work() -> str:
        typed = form.cleaned_data
        wish = Wish(DataRequestKind.REFUSED, typed["asked_on"], typed["how"], typed["note"])
        write_refusal(customer, wish, person=staff_of(request), at=now())
        return reverse("shop:customer_data", args=[pk])

    return _act(request, customer, form, "refuse data request", work, "Written down with its reason.")


def _act(request: HttpRequest, customer: Customer, form: TradeForm, act: str, work: Callable[[], str], said: str) -> HttpResponse:
    """A form sent again after it had erased the card still finds its own mark, though its name fits no card any more."""
    if address := _sent_before(request):
        return answer_once(request, address, False, said)
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], act, work)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=said)
    return _show(request, customer, form)


def _sent_before(request: HttpRequest) -> str:
    try:
        token = acts.as_token(request.POST.get("once"))
    except Refused:
        return ""
    return ActOnce.objects.filter(token=token).values_list("answer", flat=True).first() or ""
