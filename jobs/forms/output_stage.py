"""What may be chosen on the output stage's page. A form that only looks: it is sent by its address."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from jobs.forms.quantities import QuantityField
from jobs.queries.output_stage import Asked, OutputStages
from jobs.queries.sheet import PositionState


class StageForm(forms.Form):
    """`found` says what there is to choose from."""

    bplus = QuantityField(
        "voltage", required=False, label="What if B+ becomes", help_text="After another rectifier or reservoir: 270 V."
    )
    resistor = forms.TypedChoiceField(label="Cathode resistor", required=False, coerce=int, empty_value=None)
    valve = forms.TypedChoiceField(label="Look at another valve too", required=False, coerce=int, empty_value=None)
    plate_watts = QuantityField(
        "power", required=False, label="Plate may get rid of", help_text="By the valve's sheet, if not listed."
    )
    screen_watts = QuantityField("power", required=False, label="Screen may get rid of")

    def __init__(self, data: Any = None, *, rows: Sequence[PositionState]) -> None:
        super().__init__(data, label_suffix="")
        self._offer("resistor", [row for row in rows if row.role == "cathode_resistor"], "as the log tells")
        self._offer("valve", [row for row in rows if row.role == "valve"], "those of the table")

    def _offer(self, name: str, rows: Sequence[PositionState], empty: str) -> None:
        named = [(row.position.pk, f"{row.position.designator} {row.called}".strip()) for row in rows]
        self.fields[name].choices = [("", empty), *named]  # type: ignore[attr-defined]

    def narrow(self, found: OutputStages) -> None:
        """Leave out the questions that don't arise."""
        if len(found.resistors) < 2:
            del self.fields["resistor"]
        if not found.others and not self.data.get("valve"):
            del self.fields["valve"]

    @property
    def asked(self) -> Asked:
        """What was chosen, as far as it could be read."""
        typed = getattr(self, "cleaned_data", {})
        plate, screen, bplus = (self._above_zero(typed.get(name)) for name in ("plate_watts", "screen_watts", "bplus"))
        return Asked(typed.get("valve"), typed.get("resistor"), plate, screen, bplus)

    def _above_zero(self, value: Decimal | None) -> Decimal | None:
        return value if value is None or value > 0 else None

    @property
    def status(self) -> int:
        return 422 if self.is_bound and self.errors else 200
