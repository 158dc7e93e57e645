"""What the pages of profit are narrowed by. It comes in the address, so it is read leniently."""

from django import forms

from billing.forms.periods import DaysForm
from billing.queries.profit import BY, SHOWN


class ProfitForm(DaysForm):
    """Days are those of a job's first bill."""

    q = forms.CharField(
        label="Job, customer or model",
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    shown = forms.ChoiceField(label="Show", required=False, choices=SHOWN)
    field_order = ("q", "shown", "first", "last")


class GroupsForm(DaysForm):
    by = forms.ChoiceField(label="By", required=False, choices=BY)
    field_order = ("by", "first", "last")
