"""Setting valves apart, what a tester showed, testers, matched sets, pictures of a lot."""

from typing import Any

from django import forms

from inventory.models import Lot, ValveTester, ValveVerdict
from inventory.queries.individuals import matchable
from inventory.services import Tested, TesterFacts
from shop.web.forms import DayField, PhotoField, SeenForm, TradeForm


class ApartForm(TradeForm):
    marks = forms.CharField(
        label="Marks",
        max_length=1100,
        help_text="What is written on each valve or its box, one after another: V12 V13 V14.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )

    def clean_marks(self) -> list[str]:
        return str(self.cleaned_data["marks"]).replace(",", " ").split()


class ValveTestForm(TradeForm):
    tester = forms.ModelChoiceField(label="Tester", queryset=ValveTester.objects.filter(in_use=True), empty_label="choose")
    tested_on = DayField(label="Tested on")
    reading = forms.CharField(label="Reading", max_length=160, help_text="As the tester shows it: 72, or 9.8 mA and 4.1 mA/V.")
    percent = forms.IntegerField(label="% of a new one", min_value=0, max_value=300, required=False)
    verdict = forms.ChoiceField(label="Verdict", choices=[("", "choose"), *ValveVerdict.choices])
    note = forms.CharField(label="Note", max_length=200, required=False, help_text="Microphonic, gassy, tapped and steady.")

    def tested(self) -> Tested:
        typed = self.cleaned_data
        return Tested(typed["tester"], typed["reading"], typed["verdict"], typed["tested_on"], typed["percent"], typed["note"])


class TesterFields(TradeForm):
    name = forms.CharField(label="Name", max_length=80, help_text="As you call it at the bench.")
    calibrated_on = DayField(label="Last calibrated on", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def facts(self) -> TesterFacts:
        typed = self.cleaned_data
        return TesterFacts(typed["name"], typed["calibrated_on"], typed["note"], typed.get("in_use", True))


class TesterForm(TesterFields):
    pass


class TesterChangeForm(TesterFields, SeenForm):
    in_use = forms.BooleanField(label="In use", required=False)


class _Marked(forms.ModelMultipleChoiceField):
    def label_from_instance(self, lot: Any) -> str:
        return f"{lot.mark}, {lot.part.marking}"

    def clean(self, value: Any) -> Any:
        """A number too large for any row would overflow the query."""
        return super().clean([str(pk)[:18] for pk in value or ()])


class MatchForm(TradeForm):
    lots = _Marked(
        label="Valves",
        queryset=Lot.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose the valves that are matched."},
    )
    note = forms.CharField(label="Matched by", max_length=200, help_text="The readings, or who matched them.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lots"].queryset = matchable()  # type: ignore[attr-defined]


class PartSetForm(TradeForm):
    reason = forms.CharField(label="Why the set is parted", max_length=200)


class LotPhotosForm(TradeForm):
    photos = PhotoField(
        label="Pictures",
        help_text="The bag, the print, the date code. Several at once; a telephone offers its camera.",
        error_messages={"required": "Choose at least one picture."},
    )
    caption = forms.CharField(label="What they show", max_length=160, required=False)
