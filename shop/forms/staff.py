"""Who works here: a new member of staff, their role, a new password, one's own password."""

from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm

from shop.models import Role, Staff
from shop.profile import StaffFacts
from shop.sign_in.passwords import HINT, LONGEST
from shop.web.forms import SeenForm, TradeForm

ENDS = (
    "Everywhere else where you are signed in it will be asked for, and the private links of your calendars end: make new ones "
    "under “Calendar”."
)
ROLES_HELP = "Counter: customers, estimates, money. Bench: the change log, parts, safety. Owner: everything."


def _password(label: str, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=128, strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}), **kwargs
    )


class StaffFields(TradeForm):
    role = forms.ChoiceField(label="Role", choices=Role.choices, help_text=ROLES_HELP)
    shown_name = forms.CharField(label="Name on papers", max_length=80, required=False)


class StaffForm(StaffFields):
    username = forms.CharField(
        label="Name to sign in with",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off"}),
    )
    password = _password("First password", help_text=f"{HINT} They choose their own when they first sign in.")
    field_order = ("username", "shown_name", "role", "password")


class StaffChangeForm(StaffFields, SeenForm):
    is_active = forms.BooleanField(
        label="May sign in", required=False, help_text="Off: the name stays on everything done, and the door stays shut."
    )

    def staff_facts(self) -> StaffFacts:
        return StaffFacts(**{name: self.cleaned_data[name] for name in ("role", "shown_name", "is_active")})


class PasswordForm(TradeForm):
    password = _password(
        "New password",
        help_text=f"{HINT} It signs them out everywhere and ends the private links of their calendars; they choose their own "
        "when they sign in with it.",
    )


class OwnPasswordForm(TradeForm, PasswordChangeForm):
    """One's own: the old one is asked for."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("old_password", "new_password1", "new_password2"):
            self.fields[name].max_length = LONGEST  # type: ignore[attr-defined]
        self.fields["new_password1"].help_text = f"{HINT} {ENDS}"
        self.fields["new_password2"].help_text = ""


def values_of(person: Staff) -> dict[str, Any]:
    """What the form starts with."""
    return {"role": person.role, "shown_name": person.shown_name, "is_active": person.is_active}
