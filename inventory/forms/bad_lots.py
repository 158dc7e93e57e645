"""A lot is bad; a bad lot is sound after all."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.models import Lot
from inventory.queries.bad_lots import Suspect
from inventory.services.bad_lots import Finding
from shop.web.forms import SeenForm, TradeForm


class BadLotForm(TradeForm):
    """`also`: lots that are suspects, by their keys."""

    why = forms.CharField(
        label="What is wrong with it",
        max_length=200,
        help_text="Everybody who chooses parts at the bench sees this, and so do owners.",
    )
    danger = forms.CharField(
        label="What may happen in a set",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="For the owners, in plain words. What the place in the circuit adds is said by itself.",
    )
    advice = forms.CharField(
        label="What the owner is told to do",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Empty: to switch it off and not to use it where it is dangerous, else to bring it in.",
    )
    reference = forms.CharField(label="Job whose part showed it", max_length=60, required=False)
    also = forms.TypedMultipleChoiceField(
        label="These are bad, too", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, suspects: Sequence[Suspect], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.suspects = {one.lot.pk: one.lot for one in suspects}
        if not suspects:
            del self.fields["also"]
        else:
            choices: Any = [(one.lot.pk, one.label) for one in suspects]
            self.fields["also"].choices = choices  # type: ignore[attr-defined]

    def finding(self) -> Finding:
        return Finding(**{name: self.cleaned_data[name] for name in ("why", "danger", "advice", "reference")})

    def also_bad(self) -> list[Lot]:
        return [self.suspects[pk] for pk in self.cleaned_data.get("also", [])]


class LiftForm(SeenForm):
    why = forms.CharField(
        label="Why it may be fitted again", max_length=200, help_text="Such as how it was measured, and what that gave."
    )
