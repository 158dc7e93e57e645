"""The same supply with other parts in it: each computed once, side by side line by line, and held against what they bear."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.components.valves import is_solid_state
from jobs.bench.heat import said
from jobs.bench.supply import RANGES, Limit, Result, Supply, SupplyError, ThreeHalves, compute, limits, rectifier_law

_MICRO = Decimal("1e-6")
_RATED = "common practice, no source"
_LIMITS = {
    "max_reservoir_uf": "First capacitor",
    "max_dc_ma": "DC output",
    "max_peak_plate_ma": "Peak of each anode",
    "max_peak_inverse_volts": "Peak inverse voltage",
    "max_ac_volts_per_plate": "AC voltage of each anode",
    "min_supply_ohms": "Resistance before each anode",
    "max_transient_plate_amps": "Pulse when switched on hot",
}


@dataclass(frozen=True, slots=True)
class Figures:
    """What the service data says of a supply beside its parts, in the units of the names."""

    topology: str
    volts_rms: float
    frequency_hz: float
    load_amps: float


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of one supply. `source_ohms` is all that lies before each anode; rated volts are None where nobody knows."""

    rectifier: str
    source_ohms: float
    reservoir_uf: float
    choke_h: float
    choke_ohms: float
    smoothing_uf: float
    reservoir_rated_v: float | None = None
    smoothing_rated_v: float | None = None


@dataclass(frozen=True, slots=True)
class Trouble:
    """What a part doesn't bear. `level` is no, or warn where the figure is only remembered or the case isn't certain."""

    level: str
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class Case:
    """One computed supply. Nothing in it is rounded."""

    parts: Parts
    supply: Supply
    result: Result
    limits: tuple[Limit, ...]

    @property
    def law_from_memory(self) -> bool:
        """Whether the valve's voltage drop is only remembered. What is said of all silicon is common practice."""
        return isinstance(self.supply.rectifier, ThreeHalves) and self.supply.rectifier.from_memory

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """Everything beyond what the rectifier and the capacitors bear, what is certain first."""
        return tuple(sorted(_troubles(self), key=lambda one: one.level))


@dataclass(frozen=True, slots=True)
class Cell:
    """One figure of the table; `mark` and `word` where it is judged."""

    text: str = "–"
    mark: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table, a cell a column. `source` says where a limit is from."""

    what: str
    cells: tuple[Cell, ...]
    source: str = ""


def out_of_range(name: str, value: float) -> str:
    """Why a figure by the name it has in RANGES is beyond what is computed, in words; empty where it isn't."""
    accepted = RANGES[name]
    if accepted.holds(value):
        return ""
    what = accepted.what[0].upper() + accepted.what[1:]
    return f"{what} {value:.7g} {accepted.unit.split()[0]} is beyond what is computed. Accepted: {accepted.text}."


def rectifier_problem(name: str) -> str:
    """Why nothing can be computed with this rectifier; empty where its law is on file."""
    try:
        rectifier_law(name)
    except SupplyError:
        shown = f"“{name[:20]}”" if name.strip() else "a rectifier without a type"
        return f"No voltage drop is on file for {shown}. Write a type such as 5Y3-GT, EZ80, GZ34 or UY41, or silicon or selenium."
    return ""


def case_of(figures: Figures, parts: Parts) -> Case:
    """Compute one supply. SupplyError with a sentence for the page where it can't be."""
    _check(figures, parts)
    supply = Supply(
        topology=figures.topology,
        volts_rms=figures.volts_rms,
        frequency_hz=figures.frequency_hz,
        source_ohms=parts.source_ohms,
        rectifier=rectifier_law(parts.rectifier),
        reservoir_uf=parts.reservoir_uf,
        choke_h=parts.choke_h,
        choke_ohms=parts.choke_ohms,
        smoothing_uf=parts.smoothing_uf,
        load_amps=figures.load_amps,
        rectifier_type=parts.rectifier,
    )
    result = compute(supply)
    return Case(parts, supply, result, limits(supply, result))


def _check(figures: Figures, parts: Parts) -> None:
    problem = rectifier_problem(parts.rectifier)
    if problem:
        raise SupplyError("unknown", problem)
    if parts.smoothing_uf == 0 and (parts.choke_h or parts.choke_ohms):
        text = "Behind the choke or resistor a smoothing capacitor is wanted. Write what it is, like 20 µF 450 V."
        raise SupplyError("out_of_range", text)
    for name in RANGES.keys() - {"load_ohms"}:
        value = getattr(parts, name) if hasattr(parts, name) else getattr(figures, name)
        if text := out_of_range(name, value):
            raise SupplyError("out_of_range", text)


def lines(cases: Sequence[Case | None]) -> list[Line]:
    """What is computed, and what the capacitors are rated; a column that could not be computed has dashes."""
    return [
        *(Line(what, tuple(_figure(case, get, kind) for case in cases)) for what, get, kind in _FIGURES),
        Line("Reservoir is rated", tuple(_rated(case, lambda parts: parts.reservoir_rated_v) for case in cases)),
        Line("Smoothing is rated", tuple(_rated(case, lambda parts: parts.smoothing_rated_v) for case in cases)),
    ]


def limit_lines(cases: Sequence[Case | None]) -> list[Line]:
    """What the rectifier bears; none where no column's rectifier has a figure on file."""
    return [line for code in _LIMITS if (line := _limit_line(code, cases)) is not None]


def _limit_line(code: str, cases: Sequence[Case | None]) -> Line | None:
    held = [next((one for one in case.limits if one.code == code), None) if case else None for case in cases]
    sources = dict.fromkeys(one.source for one in held if one is not None)
    return Line(_LIMITS[code], tuple(map(_limit, held)), "; ".join(sources)) if sources else None


_FIGURES: tuple[tuple[str, Callable[[Result], float], str], ...] = (
    ("B+, mean", lambda result: result.bplus_mean_v, "voltage"),
    ("B+, hum peak to peak", lambda result: result.bplus_ripple_pp_v, "voltage"),
    ("Reservoir, mean", lambda result: result.reservoir_mean_v, "voltage"),
    ("Reservoir, ripple peak to peak", lambda result: result.reservoir_ripple_pp_v, "voltage"),
    ("Each anode, peak", lambda result: result.rectifier_peak_a, "current"),
    ("Each anode, rms", lambda result: result.rectifier_rms_a, "current"),
    ("First pulse when switched on hot", lambda result: result.inrush_peak_a, "current"),
    ("Reservoir's highest when switched on hot", lambda result: result.reservoir_startup_max_v, "voltage"),
    ("Before the valves draw current", lambda result: result.peak_no_load_v, "voltage"),
)


def amount(value: float, kind: str) -> str:
    """To three figures with its unit, as the page says it."""
    if kind in ("voltage", "current") and abs(value) < 0.0005:
        return "less than 1 mV" if kind == "voltage" else "less than 1 mA"
    return said(Decimal(repr(value)), kind, 3)


def farads(microfarads: float) -> str:
    return said(Decimal(repr(microfarads)) * _MICRO, "capacitance", 3)


def _figure(case: Case | None, get: Callable[[Result], float], kind: str) -> Cell:
    return Cell() if case is None else Cell(amount(get(case.result), kind))


def _rated(case: Case | None, get: Callable[[Parts], float | None]) -> Cell:
    if case is None:
        return Cell()
    rated = get(case.parts)
    if rated is None:
        return Cell("not known", "open", "look on the part")
    level = _rating_level(case, rated)
    return Cell(amount(rated, "voltage"), level, {"yes": "enough", "warn": "scant", "no": "too low"}[level])


def _rating_level(case: Case, rated: float) -> str:
    """No where the supply reaches more with the set playing, or stands at the peak for sure, as silicon makes it."""
    if rated >= case.result.peak_no_load_v:
        return "yes"
    at_once = is_solid_state(case.parts.rectifier)
    return "no" if at_once or rated < case.result.reservoir_startup_max_v else "warn"


def _limit(one: Limit | None) -> Cell:
    if one is None:
        return Cell()
    bound = f"{'at least' if one.code.startswith('min_') else 'at most'} {one.limit:.4g}"
    mark, word = ("yes", "within") if not one.exceeded else ("warn", "beyond") if one.from_memory else ("no", "beyond")
    return Cell(f"{one.value:.3g} {one.unit}, {bound}", mark, word)


def _troubles(case: Case) -> Iterator[Trouble]:
    for limit in case.limits:
        if limit.exceeded:
            yield Trouble("warn" if limit.from_memory else "no", limit.sentence, limit.source)
    for name, rated in (("reservoir", case.parts.reservoir_rated_v), ("smoothing capacitor", case.parts.smoothing_rated_v)):
        if rated is not None and (level := _rating_level(case, rated)) != "yes":
            yield Trouble(level, _scant(case, name, rated, level), _RATED)


def _scant(case: Case, name: str, rated: float, level: str) -> str:
    peak = amount(case.result.peak_no_load_v, "voltage")
    text = f"The {name} is rated {amount(rated, 'voltage')}; {peak} stand there until the valves draw current."
    if level == "no":
        return text
    return f"{text} A rectifier that warms up no faster than the other valves spares it; a quick one doesn't."
