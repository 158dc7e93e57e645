"""The periodic state: the one that a span of the supply leaves as it found it.

Newton's method on R(x) = x - span(x). Its matrix is measured once by three disturbed spans, then kept up to date by
Broyden's rank-one rule; it is measured anew where that stops helping. A supply takes its time to settle from the charge
of its capacitors, this takes a dozen spans whatever their size. Where it doesn't settle, plain marching has the last word.
"""

from jobs.bench.supply.marching import March, State

_CLOSE = 1e-9
_TURNS = 8
_MEASURES = 3
_PLAIN_SPANS = 24
_DISTURBANCE = 1e-4

Rows = list[list[float]]


def steady_state(march: March, state: State, depth: int, scale: State) -> State:
    """The state at the AC voltage's zero that repeats itself, sought from `state`. `scale` is the size of each part."""
    best, gap = state, _gap(march, state, depth, scale)
    for _ in range(_MEASURES):
        if _size(gap) < _CLOSE:
            return best
        best, gap = _improve(march, best, gap, depth, scale)
    return best if _size(gap) < 1e-6 else _march_on(march, best, depth)


def _improve(march: March, state: State, gap: list[float], depth: int, scale: State) -> tuple[State, list[float]]:
    """Newton's steps from one measured matrix for as long as each is better than the last."""
    rows = _measured(march, state, gap, depth, scale)
    for _ in range(_TURNS):
        step = _solved(rows, [-one for one in gap])
        if step is None:
            break
        tried: State = tuple(old + move * size for old, move, size in zip(state, step, scale, strict=True))  # type: ignore[assignment]
        then = _gap(march, tried, depth, scale)
        if not _size(then) < _size(gap):
            break
        _update(rows, step, [new - old for new, old in zip(then, gap, strict=True)])
        state, gap = tried, then
        if _size(gap) < _CLOSE:
            break
    return state, gap


def _gap(march: March, state: State, depth: int, scale: State) -> list[float]:
    """x - span(x), each part in its scale."""
    after = march.span(state, depth).state
    return [(before - then) / size for before, then, size in zip(state, after, scale, strict=True)]


def _size(gap: list[float]) -> float:
    return max(map(abs, gap))


def _measured(march: March, state: State, gap: list[float], depth: int, scale: State) -> Rows:
    columns = []
    for part in range(3):
        moved = list(state)
        moved[part] += _DISTURBANCE * scale[part]
        then = _gap(march, (moved[0], moved[1], moved[2]), depth, scale)
        columns.append([(new - old) / _DISTURBANCE for new, old in zip(then, gap, strict=True)])
    return [list(row) for row in zip(*columns, strict=True)]


def _update(rows: Rows, step: list[float], change: list[float]) -> None:
    """Broyden: the smallest change of the matrix with which the step just taken would have been foretold."""
    length = sum(move * move for move in step)
    if length == 0:
        return
    for row, seen in zip(rows, change, strict=True):
        missed = (seen - sum(one * move for one, move in zip(row, step, strict=True))) / length
        for part, move in enumerate(step):
            row[part] += missed * move


def _solved(rows: Rows, right: list[float]) -> list[float] | None:
    """The solution of three equations by Cramer's rule; None where there is none."""
    (a, b, c), (d, e, f), (g, h, i) = rows
    x, y, z = right
    whole = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if abs(whole) < 1e-12:
        return None
    return [
        (x * (e * i - f * h) - b * (y * i - f * z) + c * (y * h - e * z)) / whole,
        (a * (y * i - f * z) - x * (d * i - f * g) + c * (d * z - y * g)) / whole,
        (a * (e * z - y * h) - b * (d * z - y * g) + x * (d * h - e * g)) / whole,
    ]


def _march_on(march: March, state: State, depth: int) -> State:
    for _ in range(_PLAIN_SPANS):
        state = march.span(state, depth).state
    return state
