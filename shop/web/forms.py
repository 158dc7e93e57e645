"""The form that every mutating page starts from.

    class LabourForm(TradeForm):
        minutes = MinutesField(label="Time")

    form = LabourForm(request.POST or None)
    if form.is_valid():
        try:
            address, done = acts.once(form.cleaned_data["once"], "log labour", lambda: ...)
        except Refused as refused:
            form.take_refusal(refused)          # shown at its field or above the form; everything typed stays
        else:
            return answer_once(request, address, done, said="…")
    return render(request, "jobs/labour_new.html", {"form": form}, status=form.status)

In the template `{% include "_form.html" with act="Log this time" %}`, or `_errors.html`, `{% field form.minutes %}` and
`{% hidden form %}` one by one.
"""

from typing import Any

from django import forms
from django.http import QueryDict

from shop.acts import Refused
from shop.web.context import shop_currency
from shop.web.fields import (
    INCOMPLETE,
    DayField,
    MinutesField,
    MoneyField,
    NotationField,
    OnceField,
    PercentField,
    PhotoField,
    PicturesInput,
)

__all__ = [
    "DayField",
    "MinutesField",
    "MoneyField",
    "NotationField",
    "PercentField",
    "PhotoField",
    "SeenForm",
    "TradeForm",
]


class TradeForm(forms.Form):
    """A form with a once-token. `currency` (ISO 4217) is the shop's unless given; it is looked up only if a field needs it."""

    once = OnceField()
    required_css_class = "is-required"
    error_css_class = "has-errors"

    def __init__(self, *args: Any, currency: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        wanting = [field for field in self.fields.values() if isinstance(field, MoneyField) and not field.currency]
        code = (currency or shop_currency()) if wanting else ""
        for field in wanting:
            field.currency = code

    @property
    def status(self) -> int:
        """HTTP status of the page that shows this form: 422 once something in it was refused."""
        return 422 if self.is_bound and self.errors else 200

    @property
    def lost_files(self) -> bool:
        """A browser never sends chosen files back into a form: the page must ask for them again."""
        return self.is_bound and any(isinstance(f.widget, PicturesInput) for f in self.fields.values()) and bool(self.files)

    def take_refusal(self, refused: Refused) -> None:
        """Show a refusal at the field it names, or above the form where the form has no such field."""
        self.add_error(refused.field if refused.field in self.fields else None, refused.message)


class SeenForm(TradeForm):
    """A form on something that two people may edit: `seen` is the version this person saw when the page was drawn."""

    seen = forms.IntegerField(
        widget=forms.HiddenInput(attrs={"id": False}), error_messages={"required": INCOMPLETE, "invalid": INCOMPLETE}
    )

    def see(self, version: int) -> None:
        """After a stale refusal: what is typed stays, and the next sending counts as made in sight of `version`."""
        data = QueryDict(mutable=True)
        data.update(self.data)
        data[self.add_prefix("seen")] = str(version)
        self.data = data
