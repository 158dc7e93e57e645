"""The form for a voltage measured under power."""

from collections.abc import Iterable
from typing import ClassVar

from django import forms

from jobs.forms.entries import EntryForm
from jobs.models import Point
from shop.web.forms import NotationField


class VoltageForm(EntryForm):
    caution: ClassVar = (
        "live while you measure",
        "The set is on and its chassis may be at line voltage: feed it through an isolating transformer, clip the meter's common "
        "lead on with the power off, keep one hand in your pocket, touch nothing but the insulated probe. Afterwards unplug, "
        "discharge the reservoir and measure that it is empty. Local codes and licensed practice come first.",
    )
    point = forms.ChoiceField(
        label="Where",
        choices=Point.choices,
        error_messages={"invalid_choice": "Choose from the list where the voltage was measured."},
        help_text="At a valve against the chassis or B-.",
    )
    voltage = NotationField(label="Voltage", max_length=300, help_text="250, 7.3 V, -12.5, 85 mV. A number alone is volts.")
    note = forms.CharField(
        label="Note",
        required=False,
        max_length=300,
        help_text="Line voltage, signal or none, what the service data gives for it.",
    )

    def narrow(self, points: Iterable[str]) -> None:
        """Offer only the points that the position's part has."""
        offered = set(points)
        field = self.fields["point"]
        field.choices = [choice for choice in Point.choices if choice[0] in offered]  # type: ignore[attr-defined]
        if Point.PLATE not in offered:
            field.help_text = "To chassis or B-, or from one end of the part to the other."
