"""A job's power supply: what each column of its page holds and where that is from, computed and compared."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from inventory.components.notation import Spec
from jobs.bench.supply import SupplyError
from jobs.bench.supply_compare import Case, Cell, Figures, Line, Parts, amount, case_of, farads, limit_lines, lines
from jobs.bench.supply_words import choke, told
from jobs.models import Job, RadioModel
from jobs.models.supply import SupplyFigures
from jobs.queries import supply_parts as at
from jobs.queries.sheet import PositionState
from jobs.queries.supply_parts import Place, Places, Way, microfarads, type_at, value_of

# Where a part of this role is asked about on the page, and by which field.
FIELD_OF_ROLE = {
    "reservoir": "reservoir",
    "smoothing": "smoothing",
    "rectifier_valve": "rectifier",
    "metal_rectifier": "rectifier",
    "choke": "choke_ohms",
    "field_coil": "choke_ohms",
    "surge_resistor": "source",
}

# The fields that a part's marking fills by itself.
MARKED = ("reservoir", "smoothing", "rectifier")


@dataclass(frozen=True, slots=True)
class Tried:
    """What was typed as candidate; None or empty keeps what stands. Resistances in ohms, `choke_h` in henries."""

    reservoir: Spec | None = None
    smoothing: Spec | None = None
    rectifier: str = ""
    choke_h: float | None = None
    choke_ohms: float | None = None
    source_ohms: float | None = None

    @property
    def is_empty(self) -> bool:
        return self == Tried()


class Held(NamedTuple):
    """A part as a column shows it, and how it is known."""

    text: str
    how: str


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its parts in the order of PART_LINES, and its computed case or the problem that is in the way."""

    name: str
    parts: Parts
    held: tuple[Held, ...]
    case: Case | None = None
    problem: str = ""

    @property
    def law_from_memory(self) -> str:
        """The valve whose voltage drop is only remembered; empty where a sheet has it."""
        return self.parts.rectifier if self.case is not None and self.case.law_from_memory else ""


PART_LINES = ("Reservoir", "Between the capacitors", "Smoothing", "Rectifier", "Before each anode")


class Row(NamedTuple):
    """A line of the table: (name of the column, what stands in it)."""

    what: str
    cells: list[tuple[str, Held | Cell]]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything the page shows. `standing` is what a candidate starts from; `candidate` is None until something is typed."""

    figures: SupplyFigures
    places: Places
    columns: tuple[Column, ...]
    standing: Parts

    @property
    def called(self) -> Column:
        return self.columns[0]

    @property
    def found(self) -> Column:
        return self.columns[1]

    @property
    def candidate(self) -> Column | None:
        return self.columns[2] if len(self.columns) > 2 else None

    @property
    def from_memory(self) -> list[str]:
        """Valves whose voltage drop no sheet backs here."""
        return sorted({name for column in self.columns if (name := column.law_from_memory)})

    @property
    def bplus_then(self) -> str:
        """B+ with the candidate in, to be asked about at the output stage."""
        case = self.candidate.case if self.candidate else None
        return amount(case.result.bplus_mean_v, "voltage") if case else ""

    @property
    def reservoir_at(self) -> str:
        return self.places.reservoir.designator if self.places.reservoir else "reservoir"

    @property
    def bplus_at(self) -> str:
        """The smoothing capacitor's position; "B+" where both are in one can, or there is none."""
        return self.places.smoothing.designator if self.places.smoothing and not self.places.one_can else "B+"

    @property
    def part_rows(self) -> list[Row]:
        return [Row(what, [(one.name, one.held[number]) for one in self.columns]) for number, what in enumerate(PART_LINES)]

    @property
    def rows(self) -> list[Row]:
        return self._rows(lines)

    @property
    def limit_rows(self) -> list[Row]:
        return self._rows(limit_lines)

    def _rows(self, make: Callable[[list[Case | None]], list[Line]]) -> list[Row]:
        names = [column.name for column in self.columns]
        made = make([column.case for column in self.columns])
        return [Row(line.what, list(zip(names, line.cells, strict=True)), line.source) for line in made]

    @property
    def sentence(self) -> str:
        """What the last column means, beside what is called for; empty where nothing could be computed."""
        cases = [column.case for column in self.columns if column.case is not None]
        return told(cases[0], cases[-1]) if cases else ""


def figures_of(model: RadioModel) -> SupplyFigures | None:
    return SupplyFigures.objects.filter(model=model).select_related("model").first()


def places_of_model(model: RadioModel) -> Places:
    """The supply's positions on the model's called-for list."""
    return at.places_in([Place.of_list(row) for row in model.called_for.all()])  # type: ignore[attr-defined]


def places_of_sheet(rows: Iterable[PositionState]) -> Places:
    return at.places_in([Place.of_sheet(row) for row in rows])


def compared(job: Job, rows: Sequence[PositionState], tried: Tried) -> Comparison | None:
    """The columns computed; None while the model has no supply figures. One query."""
    figures = figures_of(job.radio.model)
    if figures is None:
        return None
    places = places_of_sheet(rows)
    beside = Figures(figures.topology, figures.volts_rms, figures.frequency_hz, figures.load_amps)
    columns = [_column("Called for", places, figures, at.CALLED), _column("Found", places, figures, at.FOUND)]
    standing = _column("Candidate", places, figures, at.STANDING)
    if not tried.is_empty:
        columns.append(_with(standing, tried))
    return Comparison(figures, places, tuple(_computed(columns, beside)), standing.parts)


def _computed(columns: Sequence[Column], figures: Figures) -> list[Column]:
    """Each column with its case; what is equal is computed once."""
    cases: dict[Parts, Case | str] = {}
    for column in columns:
        if column.parts not in cases:
            cases[column.parts] = _case(column, figures)
    answers = [(column, cases[column.parts]) for column in columns]
    return [
        replace(column, problem=answer) if isinstance(answer, str) else replace(column, case=answer) for column, answer in answers
    ]


def _case(column: Column, figures: Figures) -> Case | str:
    if not column.parts.reservoir_uf:
        return "The reservoir isn't known: give a position the role reservoir, with a value like 20 µF 450 V."
    try:
        return case_of(figures, column.parts)
    except SupplyError as error:
        return error.message


def _column(name: str, places: Places, figures: SupplyFigures, ways: Sequence[Way]) -> Column:
    reservoir = value_of(places.reservoir, "capacitance", ways)
    smoothing = reservoir if places.one_can else value_of(places.smoothing, "capacitance", ways)
    ohms, henries = value_of(places.series, "resistance", ways), value_of(places.series, "inductance", ways)
    rectifier, rectifier_how = type_at(places.rectifier, ways)
    surge = value_of(places.surge, "resistance", ways)
    parts = Parts(
        rectifier or figures.rectifier,
        figures.source_ohms + (surge.value if surge else 0.0),
        microfarads(reservoir),
        figures.choke_h if henries is None else henries.value,
        figures.choke_ohms if ohms is None else ohms.value,
        microfarads(smoothing, 1 if places.one_can else 0),
        _volts(reservoir),
        _volts(smoothing),
    )
    hows = (
        reservoir.how if reservoir else "",
        ohms.how if ohms else henries.how if henries else _OF_MODEL,
        smoothing.how if smoothing else "",
        rectifier_how if rectifier else _OF_MODEL,
        f"with {surge.how}" if surge else _OF_MODEL,
    )
    return Column(name, parts, _held(parts, hows))


_OF_MODEL = "supply figures"


def _volts(known: at.Known | None) -> float | None:
    return known.volts if known is not None else None


def _capacitor(microfarads_: float, volts: float | None) -> str:
    if not microfarads_:
        return "none"
    return " ".join([farads(microfarads_), *([amount(volts, "voltage")] if volts else [])])


def _held(parts: Parts, hows: Sequence[str]) -> tuple[Held, ...]:
    texts = (
        _capacitor(parts.reservoir_uf, parts.reservoir_rated_v),
        choke(parts),
        _capacitor(parts.smoothing_uf, parts.smoothing_rated_v),
        parts.rectifier or "not known",
        amount(parts.source_ohms, "resistance"),
    )
    return tuple(Held(text, how) for text, how in zip(texts, hows, strict=True))


def _with(standing: Column, tried: Tried) -> Column:
    """The candidate: what stands, with what was typed in its place."""
    old = standing.parts
    parts = Parts(
        tried.rectifier or old.rectifier,
        old.source_ohms if tried.source_ohms is None else tried.source_ohms,
        old.reservoir_uf if tried.reservoir is None else _microfarads(tried.reservoir),
        old.choke_h if tried.choke_h is None else tried.choke_h,
        old.choke_ohms if tried.choke_ohms is None else tried.choke_ohms,
        old.smoothing_uf if tried.smoothing is None else _microfarads(tried.smoothing),
        old.reservoir_rated_v if tried.reservoir is None else _rated(tried.reservoir),
        old.smoothing_rated_v if tried.smoothing is None else _rated(tried.smoothing),
    )
    is_typed = (
        tried.reservoir is not None,
        tried.choke_h is not None or tried.choke_ohms is not None,
        tried.smoothing is not None,
        bool(tried.rectifier),
        tried.source_ohms is not None,
    )
    hows = ["candidate" if typed else held.how for typed, held in zip(is_typed, standing.held, strict=True)]
    return Column(standing.name, parts, _held(parts, hows))


def _microfarads(spec: Spec) -> float:
    return float(spec.value * 10**6)


def _rated(spec: Spec) -> float | None:
    return None if spec.volts is None else float(spec.volts)
