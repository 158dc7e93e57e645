"""The password that is asked for again before something leaves the house."""

from typing import Any

from django import forms

from shop.web.forms import TradeForm


class OwnPasswordForm(TradeForm):
    """`help_text` of a form of this sort says what leaves."""

    help_text = ""
    password = forms.CharField(
        label="Your password",
        strip=False,
        max_length=128,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type the password you sign in with."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["password"].help_text = self.help_text
