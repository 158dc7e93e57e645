"""Placing jobs on benches, and saying what they wait for."""

from django import forms

from jobs.models import WaitsFor
from shop.models import Bench
from shop.web.forms import SeenForm


class BenchForm(SeenForm):
    """`seen` is the key of the bench on which the job stood when the page was drawn, 0 for none."""

    bench = forms.ModelChoiceField(
        label="Bench",
        queryset=Bench.objects.filter(in_use=True),
        required=False,
        empty_label="not on a bench",
        error_messages={"invalid_choice": "That bench isn't there any more. Choose another."},
    )


class WaitForm(SeenForm):
    """`since` comes with an undo only: when the wait that is put back had begun."""

    waits_for = forms.ChoiceField(label="Waits for", choices=WaitsFor.choices, required=False)
    note = forms.CharField(label="For what exactly", required=False, max_length=160)
    since = forms.DateTimeField(required=False, widget=forms.HiddenInput(attrs={"id": False}))
