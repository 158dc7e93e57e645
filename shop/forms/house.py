"""Benches, the markup ladder, and work at a fixed price."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.models import Bench
from shop.profile import BenchFacts
from shop.web.forms import MoneyField, SeenForm, TradeForm

SPARE_RUNGS = 3
MOST_RUNGS = 30
LEAST_FACTOR, MOST_FACTOR = 100, 10_000


class BenchForm(TradeForm):
    name = forms.CharField(label="Name", max_length=40)
    order = forms.IntegerField(label="Place in the row", min_value=0, max_value=999, initial=0)

    def bench_facts(self, in_use: bool = True) -> BenchFacts:
        return BenchFacts(self.cleaned_data["name"], self.cleaned_data["order"], in_use)


class BenchChangeForm(BenchForm, SeenForm):
    in_use = forms.BooleanField(label="In use", required=False, help_text="Only an empty bench can be taken out of use.")


def bench_values(bench: Bench) -> dict[str, Any]:
    return {"name": bench.name, "order": bench.order, "in_use": bench.in_use}


class LadderForm(SeenForm):
    """Rungs as pairs of fields; an emptied pair takes its rung out. `rungs` are those that stand now."""

    def __init__(self, data: Any = None, *args: Any, rungs: Sequence[tuple[int, int]] = (), **kwargs: Any) -> None:
        super().__init__(data, *args, **kwargs)
        self.count = min(len(rungs) + SPARE_RUNGS, MOST_RUNGS)
        if self.is_bound:
            self.count = next((n for n in range(MOST_RUNGS) if f"up_to_{n}" not in self.data), MOST_RUNGS)
        currency = kwargs.get("currency", "")
        for n in range(self.count):
            cost, factor = rungs[n] if n < len(rungs) else (None, None)
            self.fields[f"up_to_{n}"] = MoneyField(
                label=f"Rung {n + 1}: cost up to", currency=currency, required=False, initial=cost
            )
            self.fields[f"factor_{n}"] = forms.IntegerField(
                label=f"Rung {n + 1}: sells for", min_value=LEAST_FACTOR, max_value=MOST_FACTOR, required=False, initial=factor
            )

    @property
    def pairs(self) -> list[tuple[Any, Any]]:
        return [(self[f"up_to_{n}"], self[f"factor_{n}"]) for n in range(self.count)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for n in range(self.count):
            cost, factor = cleaned.get(f"up_to_{n}"), cleaned.get(f"factor_{n}")
            if (cost is None) != (factor is None) and not {f"up_to_{n}", f"factor_{n}"} & set(self.errors):
                missing = f"factor_{n}" if factor is None else f"up_to_{n}"
                self.add_error(missing, "A rung needs both its cost and its percentage; empty both to take it out.")
        return cleaned

    def typed_rungs(self) -> list[tuple[int, int]]:
        typed = [(self.cleaned_data[f"up_to_{n}"], self.cleaned_data[f"factor_{n}"]) for n in range(self.count)]
        return [(cost, factor) for cost, factor in typed if cost is not None and factor is not None]


class FlatTaskForm(TradeForm):
    """`steps` and `ways`: (code, label) of what labour is logged under and how a task is priced; `classes` of sets."""

    name = forms.CharField(label="Name", max_length=80, help_text="As it stands on an estimate and a bill.")
    step = forms.ChoiceField(label="Step")
    price = MoneyField(label="Price")
    priced_by = forms.ChoiceField(
        label="Priced",
        required=False,
        help_text="By valve or capacitor: as many as the set's list has, or as you type.",
    )
    set_class: forms.ModelChoiceField = forms.ModelChoiceField(
        None, label="For sets of the class", required=False, empty_label="any set", help_text="It is offered for those sets only."
    )

    def __init__(
        self,
        *args: Any,
        steps: Sequence[tuple[str, str]],
        ways: Sequence[tuple[str, str]] = (),
        classes: Any = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["step"].choices = list(steps)  # type: ignore[attr-defined]
        self.fields["priced_by"].choices = list(ways)  # type: ignore[attr-defined]
        self.fields["set_class"].queryset = classes  # type: ignore[attr-defined]


class FlatTaskChangeForm(FlatTaskForm, SeenForm):
    in_use = forms.BooleanField(label="In use", required=False)


class SetClassForm(TradeForm):
    name = forms.CharField(label="Name", max_length=60, help_text="Such as: table set with five valves, console, car radio.")
    order = forms.IntegerField(label="Place in the row", min_value=0, max_value=999, initial=0)


class SetClassChangeForm(SetClassForm, SeenForm):
    in_use = forms.BooleanField(label="In use", required=False, help_text="Models that have it keep it; it is offered no more.")
