"""Forms around signing in: the code, and acts that ask for one's own password again."""

from django import forms

from shop.web.forms import TradeForm


class CodeForm(TradeForm):
    """`one_time_password`: a name with `password` in it, as what bears one is never written into a page again."""

    one_time_password = forms.CharField(
        label="Code",
        max_length=40,
        help_text="The six figures that your telephone shows now, or one of your recovery codes.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "off", "spellcheck": "false"}),
    )


class FirstCodeForm(CodeForm):
    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["one_time_password"].help_text = "The six figures that your telephone shows for this shop now."


class ProofForm(TradeForm):
    """Before something grave: whoever sits here shows that they are who signed in."""

    password = forms.CharField(
        label="Your own password",
        max_length=128,
        strip=False,
        help_text="Asked for again, so that nobody does this at a screen that was left open.",
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
