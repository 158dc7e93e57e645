"""The form of one bench sum: the figures that it asks for."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.bench.sums import Sum
from jobs.forms.quantities import FigureField, QuantityField


class SumForm(forms.Form):
    def __init__(self, data: Any = None, *, wanted: Sum) -> None:
        super().__init__(data, label_suffix="")
        self.wanted = wanted
        for ask in wanted.asks:
            label, help_text = ask.label + (f" in {ask.unit}" if ask.unit else ""), f"Like {ask.example}."
            made = FigureField if ask.kind == "number" else QuantityField
            more = {} if ask.kind == "number" else {"kind": ask.kind}
            self.fields[ask.name] = made(label=label, help_text=help_text, **more)

    @property
    def figures(self) -> tuple[Decimal, ...]:
        return tuple(self.cleaned_data[ask.name] for ask in self.wanted.asks)

    @property
    def status(self) -> int:
        return 422 if self.is_bound and self.errors else 200
