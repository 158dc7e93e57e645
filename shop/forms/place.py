"""Picking the place whose rules the shop works by, and holding oneself to more than they want."""

from typing import Any

from django import forms

from shop.jurisdictions import PLACES
from shop.jurisdictions.codes import CONSENT, KEPT_ALWAYS
from shop.jurisdictions.tightening import LONGEST_DAYS, LONGEST_YEARS
from shop.models import Profile
from shop.web.forms import PercentField, SeenForm

OWN = ("allowance_bp", "retention_years", "wait_days", "notice_days", "consent")
AS_THE_PLACE = "Empty: as the place has it."


def _more(label: str, most: int) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=most, required=False, help_text=AS_THE_PLACE)


class PlaceForm(SeenForm):
    jurisdiction = forms.ChoiceField(label="The shop's place", help_text="Not there? The strictest of all is the safe choice.")
    allowance_bp = PercentField(label="Most above the agreed sum", required=False, help_text=AS_THE_PLACE)
    retention_years = _more("Records are kept for", LONGEST_YEARS)
    wait_days = _more("A set is ready before a notice of sale for", LONGEST_DAYS)
    notice_days = _more("A notice of sale names a day ahead by", LONGEST_DAYS)
    consent = forms.MultipleChoiceField(
        label="A consent also records",
        choices=[(code, words) for code, words in CONSENT.items() if code not in KEPT_ALWAYS],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["jurisdiction"].choices = [(code, rules.name) for code, rules in PLACES.items()]  # type: ignore[attr-defined]

    def wished(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in OWN if self.cleaned_data[name] not in (None, [])}


def values_of(profile: Profile) -> dict[str, Any]:
    """What the form starts with."""
    return {"jurisdiction": profile.jurisdiction, **{name: profile.tightened.get(name) for name in OWN}}
