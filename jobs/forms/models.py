"""Forms on a model: its data, its called-for list as one form, and a table that is read into it."""

from collections.abc import Collection
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.forms.formsets import BaseFormSet, formset_factory
from django.http import QueryDict

from inventory.components.roles import ROLES
from jobs.models import RadioModel, SetClass, SupplyKind
from jobs.queries.called_for_merge import Row
from jobs.queries.called_for_table import (
    COLUMNS,
    DELIMITERS,
    ENCODINGS,
    MOST_COLUMNS,
    Layout,
    ValueCheck,
    check_value,
    guess_layout,
)
from jobs.services.intake import EARLIEST_YEAR, ModelFacts
from shop.web.fields import INCOMPLETE
from shop.web.forms import NotationField, SeenForm, TradeForm

SPARE_ROWS = 6
MOST_ROWS = 500
LONGEST_TABLE = 200_000
LARGEST_FILE = 1_000_000
KEEP = "keep"


class ModelForm(TradeForm):
    maker = forms.CharField(label="Maker", max_length=80)
    name = forms.CharField(label="Model", max_length=80)
    year = forms.IntegerField(label="First year", min_value=EARLIEST_YEAR, max_value=2100, required=False)
    supply_kind = forms.ChoiceField(
        label="Supply",
        choices=[("", "Choose…"), *SupplyKind.choices],
        help_text="Decides which cautions and checks apply to every set of it.",
    )
    lineup = forms.CharField(label="Valve or transistor line-up", max_length=300, required=False)
    set_class = forms.ModelChoiceField(
        SetClass.objects.filter(in_use=True),
        label="Class of sets",
        required=False,
        empty_label="none",
        help_text="Flat tasks priced for its class are offered first.",
    )
    traps = forms.CharField(
        label="Traps seen in this model",
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="What the next person should know before opening one.",
    )

    def model_facts(self) -> ModelFacts:
        return ModelFacts(**{name: self.cleaned_data[name] for name in MODEL_FACTS})


MODEL_FACTS = ("maker", "name", "year", "supply_kind", "lineup", "set_class", "traps")


class ModelChangeForm(ModelForm, SeenForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """A class that went out of use stays with the models that have it."""
        super().__init__(*args, **kwargs)
        kept = self.initial.get("set_class")
        self.fields["set_class"].queryset = SetClass.objects.filter(Q(in_use=True) | Q(pk=kept))  # type: ignore[attr-defined]


def model_values(model: RadioModel) -> dict[str, object]:
    return {**{name: getattr(model, name) for name in MODEL_FACTS}, "set_class": model.set_class_id, "seen": model.version}


class RowForm(forms.Form):
    """One position. A doubtful value offers its readings; what stood already (`settled`) isn't asked about again."""

    designator = forms.CharField(
        label="Position", max_length=16, widget=forms.TextInput(attrs={"autocomplete": "off", "size": 6})
    )
    role = forms.ChoiceField(label="Role", choices=[(code, role.label) for code, role in ROLES.items()], initial="other")
    called = NotationField(label="Called for", required=False)
    note = forms.CharField(label="Note", max_length=160, required=False)
    reading = forms.CharField(max_length=80, required=False)

    def __init__(self, *args: Any, settled: Collection[Row] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.settled = {(row.designator, row.role, row.called) for row in settled}
        self.check_result = ValueCheck()
        self.fields["designator"].error_messages["required"] = "Write the position's designator, such as C12."

    def clean_designator(self) -> str:
        return self.cleaned_data["designator"].upper()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        name, role, called = (data.get(field, "") for field in ("designator", "role", "called"))
        if not self.errors and (name, role, called) not in self.settled:
            self._check_value(name, role, called, data.get("reading", ""))
        return data

    def _check_value(self, name: str, role: str, called: str, answer: str) -> None:
        check = check_value(name, role, called)
        if answer in check.readings:
            self.cleaned_data["called"] = answer
            self.data[self.add_prefix("called")] = answer  # type: ignore[index]  # a copy, see rows_formset
            return
        self.check_result = check
        if check.problem and not (check.may_keep and answer == KEEP):
            self.add_error("called", check.problem)

    def answers(self) -> list[tuple[str, str, bool]]:
        """(value, label, chosen) of the ways out of a doubtful value."""
        ways = [(text, f"read it as {text}") for text in self.check_result.readings]
        if self.check_result.may_keep:
            ways.append((KEEP, "no quantity: keep it as written"))
        chosen = self.data.get(self.add_prefix("reading"), "") if self.is_bound else ""
        return [(value, label, value == chosen) for value, label in ways]

    def row(self) -> Row:
        data = self.cleaned_data
        return Row(data["designator"], data["role"], data["called"], data["note"])


class BaseRows(BaseFormSet):
    is_cut_off = False

    def clean(self) -> None:
        if self.is_cut_off or self.total_form_count() < self.initial_form_count():
            raise ValidationError(INCOMPLETE)
        names: set[str] = set()
        for form in self.forms:
            name = getattr(form, "cleaned_data", {}).get("designator", "")
            if self._should_delete_form(form) or not name:  # type: ignore[attr-defined]
                continue
            if name in names:
                form.add_error("designator", f"{name} is named twice; a designator stands for one position.")
            names.add(name)

    def rows(self) -> list[Row]:
        """The filled rows in the order that their numbers give."""
        return [form.row() for form in self.ordered_forms if form.cleaned_data.get("designator")]

    @property
    def refused(self) -> bool:
        return self.is_bound and not self.is_valid()


RowsBase = formset_factory(
    RowForm, formset=BaseRows, extra=SPARE_ROWS, can_order=True, can_delete=True, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


def rows_formset(standing: Collection[Row], data: QueryDict | None = None) -> Any:
    """The list as a form; from `data` where it was sent. The data are copied, as a chosen reading is put in its field.

    Data that promise more rows than arrived are refused, and what arrived is shown again: hundreds of empty rows take seconds.
    """
    initial = [row._asdict() for row in standing]
    copied = data.copy() if data is not None else None
    is_cut_off = copied is not None and _promised(copied) > _arrived(copied)
    if copied is not None and is_cut_off:
        copied["row-TOTAL_FORMS"] = str(_arrived(copied))
    rows: Any = RowsBase(copied, initial=initial, prefix="row", form_kwargs={"settled": standing})
    rows.is_cut_off = is_cut_off
    return rows


def _promised(data: QueryDict) -> int:
    try:
        return int(data.get("row-TOTAL_FORMS", "").partition(".")[0])
    except ValueError:
        return 0


def _arrived(data: QueryDict) -> int:
    """How many rows there are, up to the last of which anything was sent."""
    numbers = (name.split("-")[1] for name in data if name.startswith("row-") and name.count("-") == 2)
    return 1 + max((int(number) for number in numbers if number.isdecimal() and len(number) < 4), default=-1)


def with_more_rows(data: QueryDict, more: int = SPARE_ROWS) -> QueryDict:
    """The sent data with further rows as they begin: a row that is still as it began counts as empty."""
    wider = data.copy()
    total = data.get("row-TOTAL_FORMS", "")
    if total.isdecimal() and len(total) < 6:
        wanted = min(int(total) + more, MOST_ROWS)
        wider["row-TOTAL_FORMS"] = str(wanted)
        wider.update({f"row-{number}-role": RowForm.base_fields["role"].initial for number in range(int(total), wanted)})
    return wider


class ListForm(SeenForm):
    """What the called-for list's form carries besides its rows."""


class TableForm(SeenForm):
    """A table to read: pasted, or from a file."""

    field_order = ("table", "file", "encoding")

    table = forms.CharField(
        label="Paste the table",
        max_length=LONGEST_TABLE,
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false"}),
        help_text="One position a line: designator, role, called for, note. Parted by tabs, semicolons or commas.",
    )
    encoding = forms.ChoiceField(
        label="The file's letters",
        choices=[("", "work it out"), *ENCODINGS.items()],
        required=False,
        help_text="Only where they come out wrong.",
    )
    file = forms.FileField(
        label="Or choose a CSV file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/*"}),
    )

    def clean_file(self) -> bytes | None:
        file = self.cleaned_data["file"]
        if file is None:
            return None
        if file.size > LARGEST_FILE:
            raise ValidationError(
                f"“{str(file.name)[:60]}” is larger than {LARGEST_FILE // 1_000_000} MB. A called-for list is far smaller."
            )
        return file.read()


def layout_sent(data: QueryDict, text: str) -> Layout:
    """How the person said the table is cut; guessed where nothing was said, or anew when another delimiter was chosen."""
    delimiter = data.get("delimiter", "")
    if delimiter not in DELIMITERS:
        return guess_layout(text)
    columns = [data.get(f"column_{at}") for at in range(MOST_COLUMNS)]
    named = tuple(name for name in columns if name in COLUMNS)
    if not named or delimiter != data.get("cut_by"):
        return guess_layout(text, delimiter)
    return Layout(delimiter, named, "header" in data)


def answers_sent(data: QueryDict) -> dict[int, str]:
    """The readings chosen on the preview, by line."""
    names = [name for name in data if name.startswith("line_") and name[5:].isdecimal() and len(name) < 12]
    return {int(name[5:]): str(data[name]) for name in names}
