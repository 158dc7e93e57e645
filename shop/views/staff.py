"""Staff: the list, adding, roles, passwords, shutting the door behind somebody."""

from typing import Any

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from shop import acts
from shop.access import EVERYBODY, role_required, staff_of
from shop.acts import Refused, Stale
from shop.clock import now
from shop.forms.compare import standing_now
from shop.forms.staff import OwnPasswordForm, PasswordForm, StaffChangeForm, StaffForm, values_of
from shop.models import Role, SecondFactor, Staff
from shop.profile import add_staff, change_staff, give_password, staff_seen
from shop.sign_in import places
from shop.sign_in.events import address_of
from shop.sign_in.own_password import note_password
from shop.sign_in.trying import SHUT, WRONG_PASSWORD, is_shut, note_wrong
from shop.web.pages import answer_once
from shop.web.saving import Columns, file_of, sheet_of, wants_file
from shop.web.still_signed_in import FIRST

COLUMNS: Columns = (
    ("Signs in as", lambda one: one.username),
    ("Name on papers", lambda one: one.shown_name),
    ("Role", lambda one: one.get_role_display()),
    ("May sign in", lambda one: one.is_active),
    ("Last here", lambda one: one.last_login),
)


@role_required(Role.OWNER)
def staff_list(request: HttpRequest) -> HttpResponse:
    people = Staff.objects.order_by("-is_active", "username")
    if wants_file(request):
        return file_of(request, sheet_of("staff", COLUMNS, people))
    with_factor = set(SecondFactor.objects.exclude(confirmed_at=None).values_list("person", flat=True))
    return render(request, "shop/staff.html", {"people": people, "with_factor": with_factor})


@role_required(Role.OWNER)
def staff_new(request: HttpRequest) -> HttpResponse:
    form = StaffForm(request.POST or None)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            done = acts.once(typed["once"], "add staff", lambda: _add(request, typed))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=f"{typed['username']} can sign in.")
    return render(request, "shop/staff_new.html", {"form": form}, status=form.status)


def _add(request: HttpRequest, typed: dict[str, Any]) -> str:
    person = add_staff(typed["username"], typed["password"], typed["role"], typed["shown_name"])
    note_password(person, by=staff_of(request), at=now(), address=address_of(request))
    return reverse("shop:staff")


@role_required(Role.OWNER)
def staff_change(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)
    form = StaffChangeForm(request.POST or None, initial={**values_of(person), "seen": staff_seen(person)})
    context: dict[str, Any] = {"person": person, "form": form}
    if form.is_valid():
        try:
            done = acts.once(form.cleaned_data["once"], "change staff", lambda: _change(person, form, staff_of(request)))
        except Stale as stale:
            form.take_refusal(stale)
            person.refresh_from_db()
            context["now"] = standing_now(form, values_of(person))
            form.see(staff_seen(person))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            return answer_once(request, *done, said=f"The card of {person.username} is changed.")
    return render(request, "shop/staff_change.html", context, status=form.status)


def _change(person: Staff, form: StaffChangeForm, by: Staff) -> str:
    change_staff(person, form.staff_facts(), seen=form.cleaned_data["seen"], by=by, at=now())
    return reverse("shop:staff")


@role_required(Role.OWNER)
def staff_password(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)
    form = PasswordForm(request.POST or None)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            done = acts.once(typed["once"], "give password", lambda: _give(request, person, typed["password"], "shop:staff"))
        except Refused as refused:
            form.take_refusal(refused)
        else:
            _stay_signed_in(request, person)
            return answer_once(request, *done, said=f"{person.username} has a new password. Tell it in person.")
    return render(request, "shop/staff_password.html", {"person": person, "form": form}, status=form.status)


def _give(request: HttpRequest, person: Staff, password: str, then: str) -> str:
    by, here = staff_of(request), places.place_of(request.session)
    give_password(person, password, by=by, at=now(), but=here, address=address_of(request))
    return reverse(then)


def _stay_signed_in(request: HttpRequest, person: Staff) -> None:
    """A new password ends every session of that person, but for the one that set it."""
    if person.pk == staff_of(request).pk:
        person.refresh_from_db()
        update_session_auth_hash(request, person)


@role_required(*EVERYBODY)
def password_change(request: HttpRequest) -> HttpResponse:
    person = staff_of(request)
    form = OwnPasswordForm(person, request.POST or None)
    must = request.session.get(FIRST) == "password"
    if _is_open(request, person, form):
        typed = form.cleaned_data
        try:
            done = acts.once(
                typed["once"], "change own password", lambda: _give(request, person, typed["new_password1"], "today")
            )
        except Refused as refused:
            form.take_refusal(refused)
        else:
            _stay_signed_in(request, person)
            if must:
                del request.session[FIRST]
            return answer_once(request, *done, said="Your password is changed. Other places where you were signed in ask for it.")
    return render(request, "shop/password_change.html", {"form": form, "must": must}, status=form.status)


def _is_open(request: HttpRequest, person: Staff, form: OwnPasswordForm) -> bool:
    """Whether the form may act. Wrong guesses at the password in force are counted, and too many close it for a while."""
    if form.is_bound and is_shut(person, at=now()):
        form.take_refusal(Refused(SHUT))
        return False
    is_good = form.is_valid()
    if "old_password" in form.errors and form.data.get("old_password"):
        note_wrong(person, WRONG_PASSWORD, at=now(), address=address_of(request))
    return is_good
