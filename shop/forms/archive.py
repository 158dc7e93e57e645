"""Asking for the whole shop as one open file."""

from django import forms

from shop.web.forms import TradeForm


class ArchiveForm(TradeForm):
    password = forms.CharField(
        label="Your password",
        strip=False,
        max_length=128,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        help_text="The file holds all that the shop knows of its customers.",
        error_messages={"required": "Type the password you sign in with."},
    )
