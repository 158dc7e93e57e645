"""Placing jobs on benches, and saying what they wait for."""

from django import forms

from jobs.models import WaitsFor
from shop.models import Bench
from shop.web.forms import SeenForm, TradeForm


class BenchForm(TradeForm):
    bench = forms.ModelChoiceField(
        label="Bench", queryset=Bench.objects.filter(in_use=True), required=False, empty_label="not on a bench"
    )


class WaitForm(SeenForm):
    waits_for = forms.ChoiceField(label="Waits for", choices=WaitsFor.choices, required=False)
    note = forms.CharField(label="For what exactly", required=False, max_length=160)
