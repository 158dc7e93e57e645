"""Forms of the alternatives: one alternative's name and text, and which line is in which."""

from collections.abc import Sequence
from typing import Any

from django import forms

from jobs.models import Alternative, EstimateLine
from shop.web.forms import SeenForm


class AlternativeForm(SeenForm):
    name = forms.CharField(label="Name", max_length=60)
    text = forms.CharField(
        label="What it gives the customer",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What they have afterwards, and what may still fail.",
    )


def key_of(line: EstimateLine) -> str:
    """Log lines are drawn anew again and again; their position stays."""
    return f"p{line.position_id}" if line.from_log else f"l{line.pk}"


class PlacesForm(SeenForm):
    """One choice a line that can be in one alternative or another."""

    def __init__(self, *args: Any, lines: Sequence[EstimateLine], alternatives: Sequence[Alternative], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(0, "in all of them"), *((one.tier, _from(one, len(alternatives))) for one in alternatives if one.tier > 1)]
        self.lines = list(lines)
        for line in self.lines:
            initial = line.tier if line.tier > 1 else 0
            place = f"{line.position.designator}: " if line.position else ""
            self.fields[key_of(line)] = forms.TypedChoiceField(
                label=f"{place}{line.text}", choices=choices, coerce=int, initial=initial
            )

    def places(self) -> dict[int, int]:
        """Line key to the smallest alternative that holds it."""
        return {line.pk: self.cleaned_data[key_of(line)] for line in self.lines}


def _from(one: Alternative, count: int) -> str:
    return f"only in {one.tier}. {one.name}" if one.tier == count else f"from {one.tier}. {one.name} up"
