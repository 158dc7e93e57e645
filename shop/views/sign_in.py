"""At the door: name and password, the second factor's code, going out again."""

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shop.acts import Refused
from shop.clock import now
from shop.forms.sign_in import CodeForm
from shop.models import AccessKind, Role, Staff
from shop.sign_in import kept as kept_forms
from shop.sign_in import places, throttle
from shop.sign_in.events import address_of, note
from shop.sign_in.factor import check_code, codes_left, has_factor
from shop.sign_in.own_password import is_due
from shop.sign_in.trying import SHUT
from shop.web.pages import next_address, warn
from shop.web.still_signed_in import FIRST, WHY

BACKEND = "django.contrib.auth.backends.ModelBackend"
# Who gave the right password and owes the code.
HALF, HALF_FOR = "half", timedelta(minutes=5)
AGAIN = "That took too long. Start again with your name and password."


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    form = AuthenticationForm(request, data=request.POST if request.method == "POST" else None)
    kept, onward = request.POST.get("kept", ""), next_address(request)
    if form.is_bound:
        throttle.forget_attempts_to_come(at=now())
    if form.is_bound and form.is_valid():
        person = form.get_user()
        assert isinstance(person, Staff)
        if not has_factor(person):
            return _admit(request, person, onward, kept)
        request.session.cycle_key()
        request.session[HALF] = {"pk": person.pk, "at": now().timestamp(), "next": onward, "kept": kept}
        return redirect("login_code")
    why = WHY.get(request.GET.get("why", ""), "")
    return render(request, "shop/login.html", {"form": form, "next": onward, "kept": kept, "why": why})


@login_not_required
@sensitive_post_parameters("one_time_password")
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step. Without the first one, or too late after it, one starts anew."""
    half: dict[str, Any] = request.session.get(HALF) or {}
    person, at = Staff.objects.filter(pk=half.get("pk", 0), is_active=True).first(), now()
    if person is None or abs(at.timestamp() - half["at"]) > HALF_FOR.total_seconds():
        if request.session.pop(HALF, None):
            warn(request, AGAIN)
        return redirect("login")
    form = CodeForm(request.POST if request.method == "POST" else None)
    status = 200
    if form.is_bound and form.is_valid():
        try:
            was_recovery = check_code(person, form.cleaned_data["one_time_password"], at=at, address=address_of(request))
        except Refused as refused:
            form.take_refusal(refused)
            status = 429 if refused.message == SHUT else 422
        else:
            del request.session[HALF]
            return _admit(request, person, half["next"], half["kept"], by_recovery_code=was_recovery)
    return render(request, "shop/login_code.html", {"form": form}, status=max(status, form.status))


def _admit(request: HttpRequest, person: Staff, onward: str, kept: str, *, by_recovery_code: bool = False) -> HttpResponse:
    """Lets them in, and on to where they wanted to go, or back to the form that they had sent too late."""
    at = now()
    login(request, person, backend=BACKEND)
    kind = AccessKind.CODE_USED if by_recovery_code else AccessKind.SIGNED_IN
    note(kind, at=at, person=person, address=address_of(request))
    _tidy(at)
    if by_recovery_code:
        warn(request, f"That recovery code is used up; {codes_left(person)} are left. Make new ones under your name.")
    if first := _first_of_all(person):
        request.session[FIRST] = first
    form = kept_forms.read(kept, person) if kept else None
    if form is not None and not first:
        return render(request, "shop/kept_form.html", {"kept_form": form})
    return redirect(onward or settings.LOGIN_REDIRECT_URL)


def _first_of_all(person: Staff) -> str:
    if is_due(person):
        return "password"
    must = settings.REACH.owners_need_a_second_factor and person.role == Role.OWNER
    return "factor" if must and not has_factor(person) else ""


def _tidy(at: datetime) -> None:
    """Signing in is rare enough to sweep up behind those who left."""
    SessionStore.clear_expired()
    throttle.forget_old_attempts(at=at)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    person, place = request.user, places.place_of(request.session)
    if place is not None:
        places.end(place, at=now())
    if isinstance(person, Staff):
        note(AccessKind.SIGNED_OUT, at=now(), person=person, address=address_of(request))
    logout(request)
    answer = redirect("login")
    if request.is_secure():
        # Photos stay in a browser for long; with whoever leaves, they go, too.
        answer.headers["Clear-Site-Data"] = '"cache"'
    return answer
