"""Forms of reforming: what is connected, a reading, what it came to."""

from django import forms

from jobs.bench.leakage import leakage_rules
from jobs.forms.entries import Asking, Remembering
from jobs.models import ReformOutcome
from shop.web.forms import NotationField, SeenForm


def rules() -> list[tuple[str, str]]:
    """The rules by name; the run's page says what each amounts to."""
    return [(code, label.partition(":")[0]) for code, label in leakage_rules()]


class StartForm(Asking):
    marking = NotationField(label="Capacitor", help_text="One section with its rated voltage: 20 µF 450 V.")
    series = NotationField(
        label="Series resistor",
        required=False,
        help_text="What you feed it through: 90k. Left empty, the page says which to take.",
    )
    rule = forms.ChoiceField(label="Leakage limit by", choices=rules)
    note = forms.CharField(label="Note", required=False, max_length=300, help_text="How long it lay, how it was marked.")


class ReadingForm(Asking, SeenForm):
    """`corrects` is the reading that this one replaces; empty for a new one."""

    corrects = forms.IntegerField(required=False, widget=forms.HiddenInput(attrs={"id": False}))
    volts = NotationField(label="Volts across the capacitor")
    leak = NotationField(
        label="Leakage", help_text="A bare number is milliamps. With a V it is the drop over the series resistor: 12 V."
    )
    note = forms.CharField(label="Note", required=False, max_length=200)


class EndForm(Remembering, SeenForm):
    outcome = forms.ChoiceField(label="What it came to", choices=[("", "choose"), *ReformOutcome.choices])
    note = forms.CharField(
        label="Why", required=False, max_length=300, help_text="Needed where the readings don't say it by themselves."
    )


class WithdrawReadingForm(Remembering, SeenForm):
    reading = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
    why = forms.CharField(label="Why it is taken back", max_length=200)
