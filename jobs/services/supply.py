"""The only writer of a model's supply figures. What stands in its called-for list is taken from there, not typed."""

from dataclasses import dataclass

from django.db import transaction

from inventory.components.notation import NotationError, read_measured
from jobs.bench.supply import TOPOLOGIES
from jobs.bench.supply_compare import out_of_range, rectifier_problem
from jobs.models import RadioModel, SupplyFigures
from jobs.services.log.writing import ambiguous
from shop.acts import Refused, Stale

# Field of the form, its column, its kind, and whether it may be left empty.
_AMOUNTS = (
    ("volts", "volts_rms", "voltage", False),
    ("frequency", "frequency_hz", "frequency", False),
    ("source", "source_ohms", "resistance", True),
    ("load", "load_amps", "current", False),
    ("choke", "choke_h", "inductance", True),
    ("choke_ohms", "choke_ohms", "resistance", True),
)
_WORDS = {"volts": "the AC voltage", "frequency": "the frequency", "load": "the current that the set draws"}


@dataclass(frozen=True, slots=True)
class TypedFigures:
    """Figures as typed, in trade notation; a load without a unit is milliamps. Empty resistances and inductances are none."""

    topology: str
    volts: str
    frequency: str
    load: str
    source: str = ""
    rectifier: str = ""
    choke: str = ""
    choke_ohms: str = ""
    note: str = ""


@transaction.atomic
def save_figures(model: RadioModel, typed: TypedFigures, *, seen: int) -> SupplyFigures:
    """Write the figures of a model, or change them. `seen` is the version on the person's page, 0 where there were none."""
    RadioModel.objects.select_for_update().get(pk=model.pk)
    current = SupplyFigures.objects.filter(model=model).first()
    if seen != (current.version if current else 0):
        raise Stale("Somebody else wrote these figures since you opened them. Compare, then send again.")
    values = _values(typed)
    if current is None:
        return SupplyFigures.objects.create(model=model, **values)
    for name, value in values.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    return current


def _values(typed: TypedFigures) -> dict[str, object]:
    if typed.topology not in TOPOLOGIES:
        raise Refused("Choose half-wave or full-wave.", field="topology")
    values: dict[str, object] = {
        column: _amount(field, column, kind, getattr(typed, field), may_be_empty)
        for field, column, kind, may_be_empty in _AMOUNTS
    }
    name = " ".join(typed.rectifier.split())[:20]
    if name and (problem := rectifier_problem(name)):
        raise Refused(problem, field="rectifier")
    return {**values, "topology": typed.topology, "rectifier": name, "note": " ".join(typed.note.split())[:200]}


def _amount(field: str, column: str, kind: str, text: str, may_be_empty: bool) -> float:
    cleaned = text.strip()
    if not cleaned and may_be_empty:
        return 0.0
    if not cleaned:
        raise Refused(f"Say {_WORDS[field]}.", field=field)
    if field == "load" and not any(one.isalpha() for one in cleaned):
        cleaned = f"{cleaned} mA"
    try:
        value = float(read_measured(cleaned, kind).value)
    except NotationError as error:
        raise (ambiguous(error, field) if error.code == "ambiguous" else Refused(error.message, field=field)) from error
    if problem := out_of_range(column, value):
        raise Refused(problem, field=field)
    return value
