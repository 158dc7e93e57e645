"""What the tests of the power supply share: a set with one, and its model's figures."""

from jobs.models import Job, RadioModel, Stage, SupplyFigures
from jobs.services.called_for import CalledRow
from jobs.services.supply import TypedFigures, save_figures
from tests.builders import a_job, a_model

SUPER = (
    CalledRow("V5", "rectifier_valve", "5Y3-GT"),
    CalledRow("C3", "reservoir", "20 µF 450 V"),
    CalledRow("L1", "field_coil", "1500 Ω"),
    CalledRow("C4", "smoothing", "15 µF 450 V"),
    CalledRow("V4", "valve", "6F6"),
)
TYPED = TypedFigures("full-wave", "300 V", "50 Hz", "70 mA", source="120 Ω", choke="15 H", note="sheet 1")


def a_super(name: str = "Super 39", rows: tuple[CalledRow, ...] = SUPER) -> RadioModel:
    return a_model(name, "Tolvane", "transformer", rows)


def figures_for(model: RadioModel, typed: TypedFigures = TYPED) -> SupplyFigures:
    return save_figures(model, typed, seen=0)


def a_job_with_supply(stage: str = Stage.REPAIRING, rows: tuple[CalledRow, ...] = SUPER, typed: TypedFigures = TYPED) -> Job:
    model = a_super(rows=rows)
    figures_for(model, typed)
    return a_job(stage, model=model, with_fit=False)
