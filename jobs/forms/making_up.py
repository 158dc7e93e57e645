"""The form that fits two parts at one position."""

from django import forms

from inventory.components.joining import How
from jobs.forms.entries import EntryForm

UNKNOWN = "Choose one of the pairs on this page."


class PairForm(EntryForm):
    """`way` is the button that was pressed: how they are joined, then lot and drawer of both: `series 7:1,9:1`."""

    way = forms.RegexField(
        r"^(series|parallel) \d{1,18}:\d{1,18},\d{1,18}:\d{1,18}$",
        widget=forms.HiddenInput,
        error_messages={"required": UNKNOWN, "invalid": UNKNOWN},
    )
    note = forms.CharField(label="Note", required=False, max_length=200)

    @property
    def how(self) -> How:
        return "series" if self.cleaned_data["way"].startswith("series") else "parallel"

    @property
    def offers(self) -> list[str]:
        return str(self.cleaned_data["way"]).partition(" ")[2].split(",")
