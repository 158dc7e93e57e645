"""A set changes hands: who has it now, and what becomes of the warranty that still runs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.forms.set_hands import HandBackForm, SetHandsForm, SetHandsNewForm
from jobs.models import RadioSet
from jobs.queries.holders import is_held, running_warranties
from jobs.services.set_hands import NewOwner, hand_on
from jobs.views.job_frame import carry_out
from shop.access import role_required, staff_of
from shop.clock import now, today
from shop.customers import add_customer, refuse_known
from shop.models import Customer, Role
from shop.web.pages import Undo, answer_once, go

MOST_FOUND = 12
LARGEST_KEY = 2**63 - 1


def _load(pk: int) -> RadioSet:
    return get_object_or_404(RadioSet.objects.select_related("model", "customer"), pk=pk)


def _facts(radio: RadioSet) -> dict[str, object]:
    running = running_warranties(radio, today())
    return {
        "radio": radio,
        "here": radio.jobs.open().first(),  # type: ignore[attr-defined]
        "running": [(one, is_held(one)) for one in running],
        "stays": radio.jobs.select_related("customer").order_by("-pk")[:MOST_FOUND],  # type: ignore[attr-defined]
    }


@role_required(Role.COUNTER)
def set_hands(request: HttpRequest, pk: int) -> HttpResponse:
    """Whose the set is, what runs for it, and who has it now."""
    radio, text = _load(pk), request.GET.get("q", "")[:80]
    found = Customer.objects.matching(text).exclude(pk=radio.customer_id)[:MOST_FOUND] if text.strip() else []
    return render(request, "jobs/set_hands.html", {**_facts(radio), "text": text, "found": found})


@role_required(Role.COUNTER)
def set_hand_on(request: HttpRequest, pk: int) -> HttpResponse:
    """`?to=` names a customer who is known; without it a new one is written down."""
    radio, asked = _load(pk), request.GET.get("to", "")
    to = get_object_or_404(Customer, pk=asked if asked.isdecimal() and len(asked) < 19 else 0) if asked else None
    start = {"moved_on": today().isoformat(), "seen": radio.version, "name": request.GET.get("q", "")[:80]}
    form = (SetHandsForm if to else SetHandsNewForm)(request.POST or None, initial=start)
    former = radio.customer

    def work() -> str:
        new = NewOwner(to or _add(form), form.cleaned_data["moved_on"], form.cleaned_data["note"])
        hand_on(radio, new, seen=form.cleaned_data["seen"], person=staff_of(request), at=now())
        return reverse("jobs:set_hands", args=[pk])

    if form.is_valid() and (done := carry_out(form, "hand set on", work)):
        radio.refresh_from_db()
        hidden = {"customer": former.pk, "seen": radio.version}
        undo = Undo(reverse("jobs:set_hand_back", args=[pk]), f"It is still {former}'s", hidden)
        return answer_once(request, *done, said=f"The set is {radio.customer}'s now.", undo=undo)
    return render(request, "jobs/set_hand_on.html", {**_facts(radio), "to": to, "form": form}, status=form.status)


def _add(form: SetHandsForm) -> Customer:
    facts = form.customer_facts()  # type: ignore[attr-defined]
    if not form.cleaned_data["somebody_else"]:
        refuse_known(facts)
    return add_customer(facts, at=now())


@role_required(Role.COUNTER)
@require_POST
def set_hand_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Undoes a change of hands by another one, back; both stay on record."""
    radio, form = _load(pk), HandBackForm(request.POST)
    if not form.is_valid():
        return go(request, "jobs:set_hands", pk)
    to = get_object_or_404(Customer, pk=min(form.cleaned_data["customer"], LARGEST_KEY))

    def work() -> str:
        new = NewOwner(to, today(), "written down by mistake")
        hand_on(radio, new, seen=form.cleaned_data["seen"], person=staff_of(request), at=now())
        return reverse("jobs:set_hands", args=[pk])

    if done := carry_out(form, "hand set back", work):
        return answer_once(request, *done, said=f"The set is {to}'s again.")
    return render(request, "jobs/set_hands.html", {**_facts(radio), "form": form, "text": "", "found": []}, status=form.status)
