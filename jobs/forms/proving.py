"""Forms of second look, electrical safety check and soak."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from jobs.bench.safety import PRACTICES, Practice, SafetyTest
from jobs.forms.entries import Remembering
from jobs.queries.second_look import Point
from jobs.services.proving import TakenReading
from shop.web.forms import SeenForm

OVER_RANGE = frozenset({"ol", "o.l", "o.l.", "over", "over range", "∞", "inf", "open"})
ISOLATION_UNSAID = "Say whether the readings were made behind an isolating transformer: it decides what they are worth."
_NUMBER = re.compile(r"(\d{1,9})(?:[.,](\d{1,9}))?")


class SecondLookForm(Remembering, SeenForm):
    """`seen` is the last entry of the log that the list was drawn from. Each open point is accepted by its own tick."""

    accepted = forms.MultipleChoiceField(required=False, widget=forms.CheckboxSelectMultiple, label="Looked at")
    note = forms.CharField(label="Note", required=False, max_length=300)

    def __init__(self, *args: Any, points: Sequence[Point], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(point.key, f"{point.place}: {point.text}") for point in points if not point.blocks]
        self.fields["accepted"].choices = choices  # type: ignore[attr-defined]
        if not choices:
            del self.fields["accepted"]


class ReadingField(forms.CharField):
    """A reading in the unit of its test: `0.12`, `0,12 V`, or `OL`. Cleans to Decimal, infinite for over range; None if empty."""

    def __init__(self, test: SafetyTest, **kwargs: Any) -> None:
        self.test = test
        super().__init__(**{"max_length": 20, "required": False, **kwargs}, empty_value="")

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {**super().widget_attrs(widget), "class": "sum", "autocomplete": "off", "inputmode": "decimal"}

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "":
            return None
        bare = text.strip().removesuffix(self.test.unit).strip()
        if bare.casefold() in OVER_RANGE:
            return Decimal("Infinity")
        found = _NUMBER.fullmatch(bare)
        if found is None:
            raise ValidationError(
                f"“{text}” can't be read. Type the reading in {self.test.unit}, such as 0.12, or OL.", code="unreadable"
            )
        return Decimal(f"{found[1]}.{found[2] or 0}")


@dataclass(frozen=True, slots=True)
class Place:
    """Where one reading of a check is typed: which test, how the plug and the switch stand."""

    test: SafetyTest
    polarity: str
    switch: str

    @property
    def name(self) -> str:
        return "-".join(["r", self.test.code, self.polarity or "any", self.switch or "any"])

    @property
    def label(self) -> str:
        words = [f"plug {self.polarity}" if self.polarity else "", f"switch {self.switch}" if self.switch else ""]
        return ", ".join(word for word in words if word) or "reading"


def places(test: SafetyTest) -> list[Place]:
    return [
        Place(test, polarity, switch)
        for polarity in (("normal", "reversed") if test.per_polarity else ("",))
        for switch in (("on", "off") if test.per_switch else ("",))
    ]


class SafetyForm(Remembering):
    """The readings that a practice asks for, of a set with or without protective earth."""

    isolating_transformer = forms.TypedChoiceField(
        label="Made behind an isolating transformer?",
        choices=[("no", "no, straight on the line"), ("yes", "yes")],
        coerce=lambda text: text == "yes",
        widget=forms.RadioSelect,
        error_messages={"required": ISOLATION_UNSAID},
    )
    instrument = forms.CharField(
        label="Instrument", required=False, max_length=80, help_text="Maker's type and number, or when it was calibrated."
    )

    def __init__(self, *args: Any, practice: str, earthed: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.practice: Practice = PRACTICES[practice]
        self.tests = [test for test in self.practice.tests if test.concerns(earthed)]
        for test in self.tests:
            for place in places(test):
                self.fields[place.name] = ReadingField(test, label=f"{test.label}, {place.label}")

    def groups(self) -> Iterator[tuple[SafetyTest, list[tuple[Place, BoundField]]]]:
        """Each test with its fields, for the page."""
        for test in self.tests:
            yield test, [(place, self[place.name]) for place in places(test)]

    def readings(self) -> list[TakenReading]:
        taken = [(place, self.cleaned_data.get(place.name)) for test in self.tests for place in places(test)]
        return [TakenReading(place.test.code, value, place.polarity, place.switch) for place, value in taken if value is not None]


class EndSoakForm(Remembering):
    result = forms.TypedChoiceField(
        label="How it ended",
        choices=[("passed", "without a fault"), ("failed", "with a fault")],
        coerce=lambda text: text == "passed",
        widget=forms.RadioSelect,
        error_messages={"required": "Say how the soak ended."},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=300, help_text="Needed where a fault showed: which, and when."
    )
