"""What somebody wants made from the drawers: a value with what it must bear."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.components.combining import Needed
from inventory.components.joining import KINDS
from inventory.components.notation import NotationError, Spec, read_notation
from inventory.forms.readings import RatingField, ToleranceField
from inventory.models import Kind
from inventory.queries.doubts import ways_to_read
from shop.web.chosen import READING, with_chosen_reading
from shop.web.fields import NotationField


class WantedForm(forms.Form):
    """Asked by GET, changes nothing. What is typed apart wins over what the value carries; `readings`: ways out of doubt."""

    kind = forms.ChoiceField(label="Kind", choices=[(kind, Kind(kind).label) for kind in KINDS])
    wanted = NotationField(
        label="Value wanted", help_text="As the trade writes it, with its ratings: 4.7K 1W 10%, 0.05 µF 600 V, 16 µF 450 V."
    )
    tolerance = ToleranceField(label="Tolerance", help_text="10, or -20/+80.")
    volts = RatingField(label="Voltage it must bear", quantity="voltage")
    watts = RatingField(label="Heat it must get rid of", quantity="power")
    polarised = forms.BooleanField(label="An electrolytic may stand there", required=False)

    def __init__(self, data: Any = None) -> None:
        super().__init__(with_chosen_reading(data), label_suffix="", initial={"kind": Kind.RESISTOR})
        self.spec: Spec | None = None
        self.readings: list[tuple[str, str, str]] = []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("kind") and cleaned.get("wanted"):
            self._read(cleaned["wanted"], cleaned["kind"])
        return cleaned

    def _read(self, wanted: str, kind: str) -> None:
        try:
            self.spec = read_notation(wanted, kind)
        except NotationError as error:
            message, readings = ways_to_read(error)
            self.add_error("wanted", message)
            self.readings = [(f"{READING}wanted", written, why) for written, why in readings]
            return
        if self.spec.kind != kind or self.spec.value <= 0:
            self.add_error("wanted", f"Give a value above zero for the {Kind(kind).label.lower()}.")
        elif self.spec.sections:
            self.add_error("wanted", "That is a can of several sections. Ask for one of them at a time.")

    @property
    def needed(self) -> Needed:
        """Only of a valid form."""
        assert self.spec is not None
        typed, spec = self.cleaned_data, self.spec
        band = typed["tolerance"]
        is_capacitor = spec.kind == Kind.CAPACITOR
        return Needed(
            spec.kind,
            spec.value,
            (_decimal(band[0]), _decimal(band[1])) if band else spec.tolerance_percent,
            volts=(_decimal(typed["volts"]) if typed["volts"] else spec.volts) if is_capacitor else None,
            watts=None if is_capacitor else _decimal(typed["watts"]) if typed["watts"] else spec.watts,
            polarised=typed["polarised"],
        )


def _decimal(number: float) -> Decimal:
    return Decimal(repr(number))
