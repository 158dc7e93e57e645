"""The whole shop as one open file: what it is, asking for it, and how it is read in again."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop import acts, long_work
from shop.access import role_required, staff_of
from shop.acts import Refused
from shop.clock import now
from shop.forms.archive import ArchiveForm
from shop.long_work import Asked
from shop.models import AccessKind, Role
from shop.sign_in import trying
from shop.sign_in.events import address_of, note
from shop.web.pages import answer_once
from shop.web.work_line import remember

BEGUN = "It is begun. This page says how far it got; once it is done, its file is here for you."


@role_required(Role.OWNER)
def whole_shop(request: HttpRequest) -> HttpResponse:
    form = ArchiveForm(request.POST or None)
    if form.is_valid():
        try:
            # Outside of `once`: a wrong password must leave its trace.
            trying.prove(staff_of(request), form.cleaned_data["password"], at=now(), address=address_of(request))
            done = acts.once(form.cleaned_data["once"], "begin whole_shop", lambda: _begin(request))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=BEGUN)
    return render(request, "shop/whole_shop.html", {"form": form}, status=form.status)


def _begin(request: HttpRequest) -> str:
    person, at = staff_of(request), now()
    asked = Asked("whole_shop", "The whole shop as one open file")
    remember(request, long_work.begin(asked, person=person, at=at, back=reverse("shop:whole_shop")))
    note(AccessKind.TAKEN_OUT, at=at, person=person, address=address_of(request), note="the whole shop as an open file")
    return reverse("shop:works")
