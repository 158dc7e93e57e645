"""Counting a drawer blind: one field a lot, then a reason for each that differs. Both name the state that was seen."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.models import CountedLot, Lot
from inventory.queries.counts import CountLine
from inventory.services import MOST_AT_ONCE
from shop.web.forms import SeenForm, TradeForm


class EnterForm(SeenForm):
    """A field for each lot on the list. One left empty isn't counted yet; the others are kept."""

    def __init__(self, *args: Any, lines: Sequence[CountedLot], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for line in lines:
            self.fields[f"lot_{line.lot_id}"] = forms.IntegerField(
                label=f"{line.lot.part.title}, lot {line.lot_id}",
                min_value=0,
                max_value=MOST_AT_ONCE,
                required=False,
                initial=line.counted,
                widget=forms.NumberInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
                help_text=_known(line.lot),
            )

    def entered(self) -> dict[int, int]:
        typed = {name.removeprefix("lot_"): value for name, value in self.cleaned_data.items() if name.startswith("lot_")}
        return {int(pk): value for pk, value in typed.items() if value is not None}


def _known(lot: Lot) -> str:
    """What tells the lot from its neighbours in the drawer."""
    code = f"date code {lot.date_code}" if lot.date_code else ""
    came = f"in {lot.received_on:%d.%m.%Y}"
    return ", ".join(part for part in (came, str(lot.supplier or ""), lot.get_condition_display(), code, lot.mark) if part)


class BookForm(SeenForm):
    """A reason for each lot whose count differs."""

    def __init__(self, *args: Any, lines: Sequence[CountLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for line in lines:
            if line.variance:
                lot = line.line.lot
                self.fields[f"why_{lot.pk}"] = forms.CharField(
                    label=f"Why: {lot.part.title}, lot {lot.pk}", max_length=200, help_text=f"{line.words.capitalize()}."
                )

    def reasons(self) -> dict[int, str]:
        return {int(n.removeprefix("why_")): text for n, text in self.cleaned_data.items() if n.startswith("why_")}


class FoundForm(TradeForm):
    """Something lies in the drawer that isn't on the list."""

    lot = forms.IntegerField(label="Number of a lot that isn't on the list", min_value=1, max_value=10**12)
    seen = forms.IntegerField(widget=forms.HiddenInput(attrs={"id": False}))
