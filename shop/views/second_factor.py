"""The second factor: setting it up, new recovery codes, removing it."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.forms.sign_in import FirstCodeForm, ProofForm
from shop.models import Profile, Role, SecondFactor, Staff
from shop.sign_in import codes, factor
from shop.sign_in.events import address_of
from shop.sign_in.trying import prove
from shop.web.codes import qr_path
from shop.web.forms import TradeForm
from shop.web.pages import answer_once, go, warn
from shop.web.still_signed_in import FIRST

SHOWN_BEFORE = "Those codes were made and shown already. If nobody wrote them down, make new ones."


@role_required(*EVERYBODY)
def second_factor(request: HttpRequest) -> HttpResponse:
    """How it stands; a POST begins setting it up, with one's password."""
    form, person = ProofForm(request.POST or None), staff_of(request)
    if form.is_valid():

        def begin() -> str:
            factor.begin_factor(person, at=now())
            return reverse("shop:second_factor")

        try:
            prove(person, form.cleaned_data["password"], at=now(), address=address_of(request))
            return go(request, acts.once(form.cleaned_data["once"], "begin second factor", begin)[0])
        except Refused as refused:
            form.take_refusal(refused)
    return _show(request, form)


def _show(request: HttpRequest, form: TradeForm | None = None) -> HttpResponse:
    """A refused form stands in its place."""
    person = staff_of(request)
    found = factor.factor_of(person)
    sent = form if form is not None and form.is_bound else None
    context = {
        "factor": found,
        "codes_left": factor.codes_left(person),
        "begin_form": sent if isinstance(sent, ProofForm) else ProofForm(),
        "code_form": sent if isinstance(sent, FirstCodeForm) else FirstCodeForm(),
        "must": request.session.get(FIRST) == "factor",
        **(_secret(found, person) if found and not found.confirmed_at else {}),
    }
    return render(request, "shop/second_factor.html", context, status=sent.status if sent else 200)


def _secret(found: SecondFactor, person: Staff) -> dict[str, object]:
    """Shown only until the first code was typed."""
    try:
        secret = factor.secret_of(found)
    except Refused as refused:
        return {"lost": refused.message}
    shop = Profile.current()
    address = codes.address_for(secret, person.username, shop.name if shop else "Workshop")
    return {"qr": qr_path(address), "secret": codes.in_groups(secret)}


@role_required(*EVERYBODY)
@require_POST
def second_factor_confirm(request: HttpRequest) -> HttpResponse:
    form, person, made = FirstCodeForm(request.POST), staff_of(request), list[str]()

    def confirm() -> str:
        typed = form.cleaned_data["one_time_password"]
        made.extend(factor.confirm_factor(person, typed, at=now(), address=address_of(request)))
        return reverse("shop:second_factor")

    if form.is_valid():
        try:
            where, _ = acts.once(form.cleaned_data["once"], "confirm second factor", confirm)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            if request.session.get(FIRST) == "factor":
                del request.session[FIRST]
            return _show_codes(request, made, where)
    return _show(request, form)


def _show_codes(request: HttpRequest, made: list[str], where: str) -> HttpResponse:
    """Once, on the answer itself: they are kept nowhere as they are."""
    if made:
        return render(request, "shop/recovery_codes.html", {"codes": made})
    warn(request, SHOWN_BEFORE)
    return go(request, where)


@role_required(*EVERYBODY)
def second_factor_codes(request: HttpRequest) -> HttpResponse:
    """New recovery codes in the place of the earlier ones."""
    form, person, made = ProofForm(request.POST or None), staff_of(request), list[str]()

    def make() -> str:
        made.extend(factor.new_recovery_codes(person))
        return reverse("shop:second_factor")

    if form.is_valid():
        try:
            prove(person, form.cleaned_data["password"], at=now(), address=address_of(request))
            where, _ = acts.once(form.cleaned_data["once"], "new recovery codes", make)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return _show_codes(request, made, where)
    context = {
        "form": form,
        "title": "New recovery codes",
        "text": "Ten new codes are made and shown once. Those you have are worth nothing then.",
        "act": "Make new codes",
        "back": reverse("shop:second_factor"),
    }
    return render(request, "shop/prove.html", context, status=form.status)


@role_required(*EVERYBODY)
def second_factor_remove(request: HttpRequest) -> HttpResponse:
    text = "From then on your password alone lets you in. Your recovery codes go with it."
    return _remove(request, staff_of(request), "Remove your second factor?", text, reverse("shop:second_factor"))


@role_required(Role.OWNER)
def staff_second_factor_remove(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)
    text = (
        f"For when {person} lost the telephone and the recovery codes. Be sure that it is {person} who asks: see them, or call "
        "the number you know. From then on the password alone lets them in, until they set up a new second factor."
    )
    return _remove(request, person, f"Remove the second factor of {person}?", text, reverse("shop:staff"))


def _remove(request: HttpRequest, person: Staff, title: str, text: str, back: str) -> HttpResponse:
    form, by = ProofForm(request.POST or None), staff_of(request)
    if form.is_valid():
        try:
            prove(by, form.cleaned_data["password"], at=now(), address=address_of(request))
            done = acts.once(form.cleaned_data["once"], "remove second factor", _removing(request, person, by, back))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said="The second factor is removed.")
    context = {"form": form, "title": title, "text": text, "act": "Remove it", "back": back}
    return render(request, "shop/prove.html", context, status=form.status)


def _removing(request: HttpRequest, person: Staff, by: Staff, then: str) -> Callable[[], str]:
    def remove() -> str:
        factor.remove_factor(person, by=by, at=now(), address=address_of(request))
        return then

    return remove
