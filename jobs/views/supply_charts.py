"""The drawings of a power supply: reservoir and B+ over two periods, and how both come up."""

from collections.abc import Callable, Iterable, Sequence

from jobs.bench.supply import Result
from jobs.bench.supply_compare import Case, amount
from jobs.queries.supply import Column, Comparison
from jobs.queries.supply_moments import Moment
from shop.paper.charts import Chart, Level, Series

MILLISECONDS = "time in ms"
Curve = Callable[[Result], tuple[Sequence[float], Sequence[float]]]


def beside_the_form(found: Comparison) -> Chart:
    """Reservoir and B+ over two periods: as called for, and the candidate or, before one is typed, what was found."""
    shown = [column for column in (found.called, found.candidate or found.found) if column.case is not None]
    if len(shown) == 2 and shown[0].case is shown[1].case:
        shown = shown[:1]
    return Chart(
        f"{found.reservoir_at} is the reservoir, B+ stands at {found.bplus_at}",
        MILLISECONDS,
        "volts",
        [line for column in shown for line in _both(column, found)],
    )


def _both(column: Column, found: Comparison) -> list[Series]:
    if column.case is None:
        return []
    result, name = column.case.result, column.name.lower()
    return [
        _series(f"{found.reservoir_at} {name}", _reservoir_wave(result)),
        _series(f"{found.bplus_at} {name}", _bplus_wave(result)),
    ]


def over_time(moments: Sequence[Moment], found: Comparison) -> list[Chart]:
    """Each voltage in a drawing of its own, a line a moment: two periods, then the first cycles after switching on hot."""
    reservoir, bplus = found.reservoir_at, found.bplus_at
    return [
        _chart(f"{reservoir}, two periods of the line", moments, _reservoir_wave),
        _chart(f"B+ at {bplus}, two periods of the line", moments, _bplus_wave),
        _chart(f"{reservoir} coming up, its highest in each cycle", moments, _reservoir_start, _rated(moments, _reservoir_rated)),
        _chart(f"B+ at {bplus} coming up", moments, _bplus_start, _rated(moments, _smoothing_rated)),
    ]


def _chart(title: str, moments: Sequence[Moment], curve: Curve, levels: Iterable[Level] = ()) -> Chart:
    lines = [_series(one.name, curve(one.case.result)) for one in moments]
    return Chart(title, MILLISECONDS, "volts", lines, tuple(levels))


def _series(label: str, curve: tuple[Sequence[float], Sequence[float]]) -> Series:
    seconds, volts = curve
    return Series(label, list(zip([1000 * one for one in seconds], volts, strict=True)))


def _reservoir_wave(result: Result) -> tuple[Sequence[float], Sequence[float]]:
    return result.waveform.times_s, result.waveform.reservoir_v


def _bplus_wave(result: Result) -> tuple[Sequence[float], Sequence[float]]:
    return result.waveform.times_s, result.waveform.bplus_v


def _reservoir_start(result: Result) -> tuple[Sequence[float], Sequence[float]]:
    return result.startup.times_s, result.startup.reservoir_max_v


def _bplus_start(result: Result) -> tuple[Sequence[float], Sequence[float]]:
    return result.startup.times_s, result.startup.bplus_v


def _reservoir_rated(case: Case) -> float | None:
    return case.parts.reservoir_rated_v


def _smoothing_rated(case: Case) -> float | None:
    return case.parts.smoothing_rated_v


def _rated(moments: Sequence[Moment], rated: Callable[[Case], float | None]) -> list[Level]:
    """What the capacitors bear, a line for each rating."""
    names: dict[float, list[str]] = {}
    for one in moments:
        volts = rated(one.case)
        if volts:
            names.setdefault(volts, []).append(one.name)
    only = len(names) == 1
    return [
        Level(f"rated {amount(volts, 'voltage')}" + ("" if only else f", {', '.join(of)}"), volts) for volts, of in names.items()
    ]
