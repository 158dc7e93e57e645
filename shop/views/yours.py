"""One's own: where one is signed in, and ending it there. The owner also ends a colleague's."""

from collections.abc import Callable, Mapping

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop import acts
from shop.access import EVERYBODY, may, role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.forms.sign_in import ProofForm
from shop.models import AccessKind, Role, SignedIn, Staff
from shop.sign_in import places
from shop.sign_in.events import address_of, note
from shop.sign_in.factor import codes_left, factor_of
from shop.sign_in.trying import prove
from shop.web.pages import answer_once, refuse

NOT_THERE = "Nobody whom you may sign out is signed in there any more. The list shows where you are signed in now."


@role_required(*EVERYBODY)
def yours(request: HttpRequest) -> HttpResponse:
    person = staff_of(request)
    factor = factor_of(person)
    context = {
        "factor": factor if factor and factor.confirmed_at else None,
        "codes_left": codes_left(person),
        "place_count": places.open_places(person, at=now()).count(),
    }
    return render(request, "shop/yours.html", context)


@role_required(*EVERYBODY)
def signed_in(request: HttpRequest) -> HttpResponse:
    return _show(request, staff_of(request))


@role_required(Role.OWNER)
def staff_signed_in(request: HttpRequest, pk: int) -> HttpResponse:
    return _show(request, get_object_or_404(Staff, pk=pk))


def _show(request: HttpRequest, person: Staff) -> HttpResponse:
    here = places.place_of(request.session)
    found = places.open_places(person, at=now())
    is_own = person.pk == staff_of(request).pk
    context = {"person": person, "places": found, "here": here, "is_own": is_own}
    return render(request, "shop/signed_in.html", context)


def _theirs(request: HttpRequest) -> "QuerySet[SignedIn]":
    """Of the places that stand, those that this person may end: their own; for the owner everybody's."""
    person = staff_of(request)
    found = SignedIn.objects.filter(ended_at=None).select_related("person")
    return found if may(person, Role.OWNER) else found.filter(person=person)


@role_required(*EVERYBODY)
def signed_in_end(request: HttpRequest, pk: int) -> HttpResponse:
    """One place. Somebody else's, or one that ended meanwhile, is not there."""
    place = _theirs(request).filter(pk=pk).first()
    if place is None:
        return refuse(request, NOT_THERE, back=reverse("shop:signed_in"))
    is_own = place.person_id == staff_of(request).pk
    back = reverse("shop:signed_in") if is_own else reverse("shop:staff_signed_in", args=[place.person_id])

    def end() -> str:
        if places.end(place, at=now()):
            _note_end(request, place.person)
        return back

    title = "Sign out there?" if is_own else f"Sign {place.person} out there?"
    said = "Signed out there." if is_own else f"{place.person} is signed out there."
    return _prove_and(request, {"title": title, "places": [place], "back": back}, "end a place", end, said)


@role_required(*EVERYBODY)
def signed_in_end_others(request: HttpRequest) -> HttpResponse:
    person, here = staff_of(request), places.place_of(request.session)
    others = [one for one in places.open_places(person, at=now()) if one != here]
    back = reverse("shop:signed_in")

    def end() -> str:
        if places.end_all(person, at=now(), but=here):
            _note_end(request, person)
        return back

    asked = {"title": "Sign out everywhere else?", "places": others, "back": back}
    return _prove_and(request, asked, "end other places", end, "Signed out everywhere but here.")


def _note_end(request: HttpRequest, person: Staff) -> None:
    by = staff_of(request)
    said = "" if by.pk == person.pk else f"by {by}"
    note(AccessKind.ENDED, at=now(), person=person, address=address_of(request), note=said)


def _prove_and(request: HttpRequest, asked: Mapping[str, object], name: str, work: Callable[[], str], said: str) -> HttpResponse:
    form = ProofForm(request.POST or None)
    if form.is_valid():
        try:
            prove(staff_of(request), form.cleaned_data["password"], at=now(), address=address_of(request))
            done = acts.once(form.cleaned_data["once"], name, work)
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=said)
    return render(request, "shop/signed_in_end.html", {**asked, "form": form}, status=form.status)
