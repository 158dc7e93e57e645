"""A supplier's list: the file, how it is read, taking it in."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from django import forms
from django.http import QueryDict

from inventory.price_lists.caps import MOST_BYTES, MOST_ROWS, SAMPLE_ROWS
from inventory.price_lists.layout import (
    BREAKS,
    CODE,
    CSV,
    DELIMITERS,
    ENCODINGS,
    MEANINGS,
    PRICE,
    PRICE_FOR,
    SIGNS,
    Column,
    Layout,
)
from inventory.queries.list_proposals import Proposal
from shop.web.fields import INCOMPLETE
from shop.web.forms import TradeForm

MOST_EXAMPLES = 3
LONGEST_EXAMPLE = 40
MOST_COUNT = 1_000_000


class ListFileForm(TradeForm):
    file = forms.FileField(
        label="The list as a file",
        max_length=200,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.tab,.xlsx"}),
        help_text=f"CSV or XLSX, up to {MOST_BYTES // 1_000_000} MB and {MOST_ROWS:,} lines. You see it before it is taken in.",
        error_messages={"required": "Choose the file.", "max_length": "The file's name is too long. Give it a shorter one."},
    )


def _hidden() -> forms.CharField:
    errors = {"required": INCOMPLETE, "max_length": INCOMPLETE}
    return forms.CharField(max_length=32, widget=forms.HiddenInput(attrs={"id": False}), error_messages=errors)


def _choice(label: str, choices: dict[str, str], **more: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=list(choices.items()), **more)


class ColumnsForm(TradeForm):
    """How a waiting file is to be read. `seen` is the key of that file, so that a form never confirms another one's columns."""

    seen = _hidden()
    encoding = _choice("Encoding", ENCODINGS, help_text="Look at letters beyond A to Z, such as µ, Ω and é, in the rows below.")
    delimiter = _choice("Between cells stands a", DELIMITERS)
    sheet = forms.ChoiceField(label="Sheet")
    decimal_sign = _choice(
        "Decimal sign",
        SIGNS,
        widget=forms.RadioSelect,
        error_messages={"required": "Say which decimal sign the prices have. It is never guessed: 1.234 can be both."},
    )
    first_row = forms.IntegerField(
        label="First row with an offer",
        min_value=1,
        max_value=SAMPLE_ROWS,
        help_text="The row before it holds the headings, if there are any.",
    )
    currency = forms.CharField(label="Currency", min_length=3, max_length=3, help_text="As on the supplier's card.")
    price_for = forms.TypedChoiceField(label="The prices are for", choices=list(PRICE_FOR.items()), coerce=int)
    is_whole = forms.BooleanField(
        label="This is the whole list",
        required=False,
        help_text="What is missing from it is no longer offered. Leave it open for a list of changes or of one kind of goods.",
    )

    def __init__(self, *args: Any, proposal: Proposal, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.proposal = proposal
        for name in ("sheet",) if proposal.layout.kind == CSV else ("encoding", "delimiter"):
            del self.fields[name]
        if "sheet" in self.fields:
            self.fields["sheet"].choices = [(one, one) for one in proposal.sheets]  # type: ignore[attr-defined]
        for index in range(proposal.sample.width):
            said = f"Column {index + 1}"
            self.fields[f"means_{index}"] = _choice(f"{said} means", {"": "nothing we need", **MEANINGS}, required=False)
            self.fields[f"from_{index}"] = forms.IntegerField(
                label=f"{said}: price from", min_value=1, max_value=MOST_COUNT, required=False
            )

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        found = self._columns()
        meanings = [one.meaning for one in found]
        if CODE not in meanings:
            self.add_error(None, "Say which column holds the order code.")
        if PRICE not in meanings and BREAKS not in meanings:
            self.add_error(None, "Say which column holds the price.")
        for place, one in enumerate(found):
            earlier = [other for other in found[:place] if other.meaning == one.meaning]
            if earlier and one.meaning != PRICE:
                self.add_error(f"means_{one.index}", f"Column {earlier[0].index + 1} is the {MEANINGS[one.meaning]} already.")
            elif one.count in [other.count for other in earlier]:
                self.add_error(
                    f"from_{one.index}", f"There is a price from {one.count} on already. Say from how many this one holds."
                )
        return cleaned

    def _columns(self) -> list[Column]:
        found = []
        for index in range(self.proposal.sample.width):
            meaning = self.cleaned_data.get(f"means_{index}")
            if meaning:
                count = self.cleaned_data.get(f"from_{index}") if meaning == PRICE else None
                found.append(Column(index, meaning, count or 1))
        return found

    def layout(self) -> Layout:
        """As it was confirmed."""
        typed, layout = self.cleaned_data, self.proposal.layout
        always = ("decimal_sign", "first_row", "currency", "price_for", "is_whole")
        names = [*(name for name in ("encoding", "delimiter", "sheet") if name in self.fields), *always]
        return replace(layout, **{name: typed[name] for name in names}, columns=tuple(self._columns()))

    @property
    def column_rows(self) -> list[dict[str, Any]]:
        """Every column for the page: number, heading, first values, and its two fields."""
        layout, sample = self.proposal.layout, self.proposal.sample
        offers = [cells for number, cells in sample.rows if number >= layout.first_row]
        return [
            {
                "number": index + 1,
                "heading": layout.headings[index] if index < len(layout.headings) else "",
                "examples": _examples(offers, index),
                "means": self[f"means_{index}"],
                "count": self[f"from_{index}"],
            }
            for index in range(sample.width)
        ]


def _examples(rows: Sequence[Sequence[str]], index: int) -> list[str]:
    found = (row[index].strip()[:LONGEST_EXAMPLE] for row in rows if index < len(row))
    return list(dict.fromkeys(one for one in found if one))[:MOST_EXAMPLES]


def start_of(layout: Layout, key: str) -> dict[str, Any]:
    """What the form shows first."""
    names = ("encoding", "delimiter", "sheet", "decimal_sign", "first_row", "currency", "price_for", "is_whole")
    shown: dict[str, Any] = {"seen": key, **{name: getattr(layout, name) for name in names}}
    for one in layout.columns:
        shown[f"means_{one.index}"] = one.meaning
        if one.meaning == PRICE:
            shown[f"from_{one.index}"] = one.count
    return shown


def asked_by(posted: QueryDict, layout: Layout, sheets: Sequence[str]) -> Layout:
    """The layout with what was chosen of how the rows are read; what can't be is left as it was."""
    first_row = posted.get("first_row", "")
    wanted = {
        "encoding": (posted.get("encoding"), ENCODINGS),
        "delimiter": (posted.get("delimiter"), DELIMITERS),
        "sheet": (posted.get("sheet"), sheets),
        "decimal_sign": (posted.get("decimal_sign"), SIGNS),
    }
    chosen: dict[str, Any] = {name: value for name, (value, known) in wanted.items() if value in known}
    if first_row.isdecimal() and len(first_row) < 4 and 1 <= int(first_row) <= SAMPLE_ROWS:
        chosen["first_row"] = int(first_row)
    return replace(layout, **chosen)


class TakeListForm(TradeForm):
    """`seen` is the mark of the trial that the page showed: just that comes in."""

    seen = _hidden()
