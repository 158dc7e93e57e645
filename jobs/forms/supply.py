"""Forms of the power supply: a model's figures, and the candidate that only looks and is sent by its address."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError

from inventory.components.notation import NotationError, Spec, read_measured, read_notation, write_spec, write_value
from jobs.bench.supply_compare import out_of_range, rectifier_problem
from jobs.forms.entries import Asking
from jobs.models import RadioModel, SupplyFigures, SupplyKind, Topology
from jobs.queries.supply import Tried
from jobs.queries.supply_parts import CALLED, Places, type_at, value_of
from jobs.services.supply import TypedFigures
from shop.web.chosen import READING, with_chosen_reading
from shop.web.forms import NotationField, SeenForm

FIGURES = ("topology", "volts", "frequency", "source", "rectifier", "choke", "choke_ohms", "load", "note")
LINE_HERTZ = "50 Hz"


class Taken(NamedTuple):
    """A figure that stands in the called-for list already, so that nobody types it again."""

    label: str
    text: str
    place: str


class SupplyFiguresForm(Asking, SeenForm):
    """`places` are the supply's positions on the model's list: what they tell is shown and not asked."""

    topology = forms.ChoiceField(label="Rectifier circuit", choices=[("", "choose"), *Topology.choices])
    volts = NotationField(
        label="AC voltage", help_text="Unloaded, of each half of the winding; without a transformer the line's."
    )
    frequency = NotationField(label="Frequency", help_text="Of the line; of the vibrator in a car set: 100 Hz.")
    source = NotationField(
        label="Resistance before each anode",
        required=False,
        help_text="Half the winding, and the primary as the secondary sees it. Not the surge resistor of the list.",
    )
    rectifier = NotationField(label="Rectifier", max_length=20, required=False, help_text="5Y3-GT, EZ80, silicon, selenium.")
    choke = NotationField(
        label="Inductance of choke or field coil", required=False, help_text="10 H. Empty where a resistor stands there."
    )
    choke_ohms = NotationField(
        label="Resistance between the capacitors", required=False, help_text="Of choke, field coil or resistor: 450, 1k2."
    )
    load = NotationField(label="Current that the set draws", help_text="All of the B+ current. A bare number is milliamps.")
    note = forms.CharField(label="Where the figures are from", required=False, max_length=200, help_text="Sheet and page.")

    def __init__(self, data: Any = None, *args: Any, places: Places, **kwargs: Any) -> None:
        super().__init__(data, *args, **kwargs)
        self.taken = taken_from(places)
        for name in self.taken:
            del self.fields[name]

    def typed(self) -> TypedFigures:
        """What was typed; a figure of the list is left to the list."""
        return TypedFigures(**{name: self.cleaned_data.get(name, "") for name in FIGURES})


def taken_from(places: Places) -> Mapping[str, Taken]:
    """Field by field what the called-for list tells already."""
    taken: dict[str, Taken] = {}
    name, _ = type_at(places.rectifier, CALLED)
    if name and places.rectifier is not None:
        taken["rectifier"] = Taken("Rectifier", name, places.rectifier.designator)
    for field, kind, label in (("choke", "inductance", "Inductance"), ("choke_ohms", "resistance", "Resistance")):
        known = value_of(places.series, kind, CALLED)
        if known is not None and places.series is not None:
            taken[field] = Taken(f"{label} between the capacitors", write_value(known.value, kind), places.series.designator)
    return taken


def shown_besides(places: Places) -> list[Taken]:
    """What else of the list the computation takes: both capacitors and the surge resistor."""
    wanted = (
        ("Reservoir", places.reservoir, "capacitance"),
        ("Smoothing", places.smoothing, "capacitance"),
        ("Surge resistor", places.surge, "resistance"),
    )
    return [
        Taken(label, place.called, place.designator)
        for label, place, kind in wanted
        if place is not None and value_of(place, kind, CALLED) is not None
    ]


def figures_values(model: RadioModel, figures: SupplyFigures | None) -> dict[str, object]:
    """What the form starts from, in trade notation."""
    if figures is None:
        topology = Topology.HALF_WAVE if model.supply_kind == SupplyKind.TRANSFORMERLESS else ""
        return {"topology": topology, "frequency": "" if model.supply_kind == SupplyKind.VIBRATOR else LINE_HERTZ, "seen": 0}
    return {
        "topology": figures.topology,
        "volts": write_value(figures.volts_rms, "voltage"),
        "frequency": write_value(figures.frequency_hz, "frequency"),
        "source": _written(figures.source_ohms, "resistance"),
        "rectifier": figures.rectifier,
        "choke": _written(figures.choke_h, "inductance"),
        "choke_ohms": _written(figures.choke_ohms, "resistance"),
        "load": write_value(figures.load_amps, "current"),
        "note": figures.note,
        "seen": figures.version,
    }


def _written(value: float, kind: str) -> str:
    return write_value(value, kind) if value else ""


class NotReadError(ValidationError):
    """A notation that was not read, with the readings to choose from where there are several."""

    def __init__(self, error: NotationError) -> None:
        super().__init__(error.message, code=error.code)
        self.readings = error.readings


class PartField(NotationField):
    """A part's value as marked (`22 µF 450 V`); cleans to Spec, or None where left empty. `name` as the computation has it."""

    def __init__(self, kind: str, name: str, **kwargs: Any) -> None:
        self.kind, self.name = kind, name
        super().__init__(**{"required": False, **kwargs})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            spec = read_notation(text, self.kind) if self.kind == "capacitance" else read_measured(text, self.kind)
        except NotationError as error:
            raise NotReadError(error) from error
        factor = Decimal(10**6) if self.kind == "capacitance" else Decimal(1)
        if problem := out_of_range(self.name, float(spec.value * factor)):
            raise ValidationError(problem, code="out_of_range")
        return spec


class CandidateForm(forms.Form):
    """What would be fitted. A form that only looks: it is sent by its address, and what is left empty stays as it stands."""

    reservoir = PartField("capacitance", "reservoir_uf", label="Reservoir", help_text="47 µF 450 V")
    smoothing = PartField("capacitance", "smoothing_uf", label="Smoothing")
    rectifier = NotationField(label="Rectifier", required=False, max_length=20, help_text="5V4-G, silicon")
    choke = PartField("inductance", "choke_h", label="Choke's inductance", help_text="10 H; 0 H for a resistor")
    choke_ohms = PartField("resistance", "choke_ohms", label="Resistance between the capacitors")
    source = PartField(
        "resistance", "source_ohms", label="Resistance before each anode", help_text="With a surge resistor added."
    )

    def __init__(self, data: Any = None) -> None:
        sent = data is not None and any(name.removeprefix(READING) in self.base_fields for name in data)
        super().__init__(with_chosen_reading(data) if sent else None, label_suffix="", auto_id="try-%s")

    def clean_rectifier(self) -> str:
        name = " ".join(self.cleaned_data["rectifier"].split())
        if name and (problem := rectifier_problem(name)):
            raise ValidationError(problem, code="unknown")
        return name

    @property
    def tried(self) -> Tried:
        """What was typed; nothing while any of it can't be read."""
        if not self.is_bound or not self.is_valid():
            return Tried()
        typed = self.cleaned_data
        henries, ohms, source = (_number(typed[name]) for name in ("choke", "choke_ohms", "source"))
        return Tried(typed["reservoir"], typed["smoothing"], typed["rectifier"], henries, ohms, source)

    @property
    def readings(self) -> list[tuple[str, str, str]]:
        """(button name, reading, why) for each way an ambiguous value can be read."""
        return [
            (READING + name, write_spec(reading.spec), reading.why)
            for name, errors in self.errors.as_data().items()
            for error in errors
            for reading in getattr(error, "readings", ())
        ]

    @property
    def status(self) -> int:
        return 422 if self.is_bound and self.errors else 200


def _number(spec: Spec | None) -> float | None:
    return None if spec is None else float(spec.value)
