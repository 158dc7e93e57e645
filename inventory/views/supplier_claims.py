"""Claims on suppliers: the list, one claim with its steps, writing a step down, the letter."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.claim_tables import SupplierClaimTable
from inventory.filters import OPEN, SupplierClaimFilter
from inventory.forms.supplier_claims import (
    AnsweredForm,
    CreditForm,
    ReplacedForm,
    SentBackForm,
    StepForm,
    SupplierClaimForm,
)
from inventory.models import Lot, SupplierClaim
from inventory.queries import drawn
from inventory.queries.drawers import codes
from inventory.queries.lots import lying
from inventory.queries.supplier_claims import (
    came_count,
    claimable_count,
    cover_of,
    listed_claims,
    standing_of,
    sums_of,
)
from inventory.services import supplier_claims
from inventory.services.supplier_claims import Asking, Replacement, Step
from inventory.views.acting import carry_out, edit, terms
from shop.access import EVERYBODY, role_required, staff_of
from shop.clock import now, today
from shop.models import Role, Staff
from shop.web.leafing import leaf_through
from shop.web.lists import as_left
from shop.web.pages import Undo, answer_once, refuse
from shop.web.pdf import answer_with
from shop.web.press import press, seen_in
from shop.web.saving import file_of, table_sheet, wants_file


def page_of_claim(pk: int) -> str:
    return reverse("inventory:supplier_claim", args=[pk])


@role_required(*EVERYBODY)
@as_left("inventory:supplier_claims", {"q": "", "supplier": "", "show": OPEN}, SupplierClaimFilter)
def supplier_claims_list(request: HttpRequest) -> HttpResponse:
    found = SupplierClaimFilter(request.GET, queryset=listed_claims())
    table = SupplierClaimTable(found.qs, profile=terms(request), today=today())
    leaf_through(request, table, shown=listed_claims())
    if wants_file(request):
        return file_of(request, table_sheet("supplier-claims", table))
    any_claim = bool(table.page.object_list) or SupplierClaim.objects.exists()
    context = {"found": found, "table": table, "any_claim": any_claim, "sums": sums_of(found.qs)}
    return render(request, "inventory/supplier_claim_list.html", context)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_new(request: HttpRequest, pk: int) -> HttpResponse:
    """`?count=` and `?job=` fill the form."""
    lot = get_object_or_404(Lot.objects.select_related("part", "supplier"), pk=pk)
    if lot.supplier is None and request.method != "POST":
        back = reverse("inventory:lot", args=[pk])
        return refuse(request, "No supplier is written down for this lot, so there is nobody to claim from.", back=back)
    most, asked = claimable_count(lot), request.GET.get("count", "")
    count = int(asked) if asked.isdecimal() and len(asked) < 7 else 1 if most else None
    first = {
        "count": count,
        "on": today(),
        "reference": request.GET.get("job", "")[:60],
        "reason": request.GET.get("why", "")[:200],
    }
    form = SupplierClaimForm(request.POST or None, initial=first)

    def work() -> str:
        asking = Asking(**{name: value for name, value in form.cleaned_data.items() if name != "once"})
        return page_of_claim(supplier_claims.claim_back(lot, asking, person=staff_of(request), at=now()).pk)

    if form.is_bound and (done := carry_out(form, "claim from supplier", work)):
        return answer_once(request, *done, said="The claim is written down. Print the letter and send it.")
    context = {"lot": lot, "form": form, "cover": cover_of(lot, today()), "most": most, "came": came_count(lot)}
    return render(request, "inventory/supplier_claim_new.html", context, status=form.status)


def _load(pk: int) -> SupplierClaim:
    return get_object_or_404(SupplierClaim.objects.select_related("supplier", "lot__part", "lot__supplier", "person"), pk=pk)


@role_required(*EVERYBODY)
def supplier_claim(request: HttpRequest, pk: int) -> HttpResponse:
    claim = _load(pk)
    context = {"claim": claim, "standing": standing_of(claim), "cover": cover_of(claim.lot, today()), "lying": lying(claim.lot)}
    return render(request, "inventory/supplier_claim.html", context)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    return answer_with(lambda: drawn.supplier_claim(pk, terms(request)), back=page_of_claim(pk))


def _step(form: StepForm) -> Step:
    typed = form.cleaned_data
    return Step(typed["on"], typed["note"], typed["seen"])


Work = Callable[[SupplierClaim, Step, Staff], object]


def _act(
    request: HttpRequest,
    pk: int,
    form: StepForm,
    title: str,
    button: str,
    said: str,
    work: Work,
    undo: tuple[str, str] = ("", ""),
) -> HttpResponse:
    """A page with one form that writes one step down. `undo`: the address name and label of what takes the step back."""
    claim = _load(pk)

    def once() -> str:
        work(claim, _step(form), staff_of(request))
        return page_of_claim(pk)

    def reread() -> tuple[int, dict[str, Any]]:
        return len(standing_of(claim).steps), {}

    done, _ = edit(form, title, once, reread) if form.is_bound else (None, None)
    if done:
        name, label = undo
        after = {"seen": form.cleaned_data["seen"] + 1}
        back = Undo(reverse(name, args=[pk]), label, after) if name else None
        return answer_once(request, *done, said=said, undo=back)
    context = {"claim": claim, "form": form, "title": title, "act": button, "back": page_of_claim(pk), "codes": codes()}
    return render(request, "inventory/supplier_claim_act.html", context, status=form.status)


def _first(pk: int, **more: object) -> dict[str, object]:
    claim = _load(pk)
    return {"on": today(), "seen": claim.steps.count(), **more}  # type: ignore[attr-defined]


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_back(request: HttpRequest, pk: int) -> HttpResponse:
    place = lying(_load(pk).lot).first()
    form = SentBackForm(request.POST or None, initial=_first(pk, out_count=0, out_of=place.drawer if place else None))

    def work(claim: SupplierClaim, step: Step, person: Staff) -> object:
        out_of, count = form.cleaned_data["out_of"], form.cleaned_data["out_count"]
        return supplier_claims.sent_back(claim, step, person=person, at=now(), out_of=out_of, out_count=count)

    return _act(request, pk, form, "Parts went back", "They went back", "Written down: the parts went back.", work)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_credit(request: HttpRequest, pk: int) -> HttpResponse:
    form = CreditForm(request.POST or None, initial=_first(pk))

    def work(claim: SupplierClaim, step: Step, person: Staff) -> object:
        return supplier_claims.credited(claim, step, form.cleaned_data["amount"] or 0, person=person, at=now())

    undo = ("inventory:supplier_claim_no_credit", "It didn’t come")
    return _act(request, pk, form, "Money came back", "It came back", "Written down: the supplier credited it.", work, undo)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def supplier_claim_no_credit(request: HttpRequest, pk: int) -> HttpResponse:
    claim, step = _load(pk), Step(today(), seen=seen_in(request))

    def work() -> object:
        return supplier_claims.take_credit_back(claim, step, person=staff_of(request), at=now())

    return press(request, "take credit back", work, page_of_claim(pk), "The credit is taken back: the claim is open again.")


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_replaced(request: HttpRequest, pk: int) -> HttpResponse:
    place = lying(_load(pk).lot).first()
    first = _first(pk, count=_load(pk).count, cost=0, drawer=place.drawer if place else None)
    form = ReplacedForm(request.POST or None, initial=first)

    def work(claim: SupplierClaim, step: Step, person: Staff) -> object:
        typed = form.cleaned_data
        if typed["drawer"] is None:
            return None
        came = Replacement(typed["count"], typed["drawer"], int(typed["cost"]), typed["date_code"])
        return supplier_claims.replaced(claim, step, came, person=person, at=now())

    said = "The parts that came are a lot of their own; its number stands in the step."
    return _act(request, pk, form, "Other parts came", "They came", said, work)


def _answered(request: HttpRequest, pk: int, title: str, button: str, said: str, dropped: bool) -> HttpResponse:
    form = AnsweredForm(request.POST or None, initial=_first(pk))

    def work(claim: SupplierClaim, step: Step, person: Staff) -> object:
        return supplier_claims.answered_no(claim, step, dropped=dropped, person=person, at=now())

    undo = ("inventory:supplier_claim_again", "Take it up again")
    return _act(request, pk, form, title, button, said, work, undo)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_refused(request: HttpRequest, pk: int) -> HttpResponse:
    return _answered(request, pk, "The supplier refused", "They refused", "Written down: the supplier refused.", dropped=False)


@role_required(Role.BENCH, Role.COUNTER)
def supplier_claim_dropped(request: HttpRequest, pk: int) -> HttpResponse:
    said = "Written down: the claim isn’t followed up."
    return _answered(request, pk, "Not followed up", "Leave it at that", said, dropped=True)


@role_required(Role.BENCH, Role.COUNTER)
@require_POST
def supplier_claim_again(request: HttpRequest, pk: int) -> HttpResponse:
    claim, step = _load(pk), Step(today(), seen=seen_in(request))

    def work() -> object:
        return supplier_claims.ask_again(claim, step, person=staff_of(request), at=now())

    return press(request, "ask supplier again", work, page_of_claim(pk), "Written down: asked again.")
