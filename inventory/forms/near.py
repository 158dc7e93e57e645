"""“What do I have near 0.047 at 400 V or more?” Asked by GET: it changes nothing."""

from typing import Any

from django import forms

from inventory.components.joining import KINDS
from inventory.components.notation import NotationError, Spec, read_notation
from inventory.forms.readings import RatingField
from inventory.models import Kind, Technology
from inventory.queries.doubts import ways_to_read
from inventory.queries.near import Wanted
from shop.web.chosen import READING, with_chosen_reading
from shop.web.fields import NotationField

REACHES = (("1.1", "a tenth"), ("1.25", "a quarter"), ("1.5", "half as much again"), ("2.2", "twice"), ("10", "ten times"))
USUAL_REACH = "1.25"


class NearForm(forms.Form):
    """`near` in the trade's notation. Volts and watts may stand in it, or in fields of their own, which win."""

    kind = forms.ChoiceField(label="Kind", choices=[(kind, Kind(kind).label) for kind in (*KINDS, Kind.INDUCTOR.value)])
    near = NotationField(label="Near", help_text="As the trade writes it, with what it must bear: .047 400 V, 220K 1W.")
    volts = RatingField(label="Volts, at least", quantity="voltage")
    watts = RatingField(label="Watts, at least", quantity="power")
    within = forms.ChoiceField(label="Off by up to", choices=REACHES, required=False)
    technology = forms.ChoiceField(
        label="Made as", choices=[("", "any"), *(one for one in Technology.choices if one[0])], required=False
    )
    all = forms.BooleanField(label="Also what is not in a drawer now", required=False)

    def __init__(self, data: Any = None) -> None:
        start = {"kind": Kind.CAPACITOR, "within": USUAL_REACH}
        super().__init__(with_chosen_reading(data), label_suffix="", initial=start)
        self.spec: Spec | None = None
        self.readings: list[tuple[str, str, str]] = []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("kind") and cleaned.get("near"):
            self._read(cleaned["near"], cleaned["kind"])
        return cleaned

    def _read(self, text: str, kind: str) -> None:
        try:
            self.spec = read_notation(text, kind)
        except NotationError as error:
            message, readings = ways_to_read(error)
            self.add_error("near", message)
            self.readings = [(f"{READING}near", written, why) for written, why in readings]
            return
        if self.spec.kind != kind or self.spec.value <= 0:
            self.add_error("near", f"Give a value above zero for the {Kind(kind).label.lower()}.")

    @property
    def wanted(self) -> Wanted:
        """Only of a valid form."""
        assert self.spec is not None
        typed, spec = self.cleaned_data, self.spec
        volts = typed["volts"] or (None if spec.volts is None else float(spec.volts))
        watts = typed["watts"] or (None if spec.watts is None else float(spec.watts))
        within = float(typed["within"] or USUAL_REACH)
        return Wanted(spec.kind, float(spec.value), within, volts, watts, typed["technology"], not typed["all"])
