"""Which of the learnt hours go into the draft."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.web.forms import TradeForm


class HoursForm(TradeForm):
    """`offered` are (code, words) of the steps; those that most jobs need are ticked."""

    steps = forms.MultipleChoiceField(
        label="Steps",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one step of the work.", "invalid_choice": "Choose steps from the list."},
    )

    def __init__(self, *args: Any, offered: Sequence[tuple[str, str]] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["steps"]
        field.choices = list(offered)
