"""The periodic state: the one that a span of the supply leaves as it found it.

Newton's method on R(x) = x - span(x). Its matrix is measured once by three disturbed spans, then kept up to date by
Broyden's rank-one rule; it is measured anew where that stops helping. A supply takes its time to settle from the charge
of its capacitors, this takes a dozen spans whatever their size. Where it doesn't settle, plain marching has the last word.
"""

import math

from jobs.bench.supply.marching import March, State

_CLOSE = 1e-8
_ENOUGH = 1e-6
_TURNS = 8
_SHORTENINGS = 4
_DETOUR = 4.0
"""How much the gap may grow in the first step: in a slow circuit a small gap is far from home, and a larger one may be near."""
_PLAIN_SPANS = 4
_LEAPS = 32
"""What the leaps of a span cost, in steps."""
_DISTURBANCE = 1e-4

Rows = list[list[float]]
Gap = list[float]
"""x - span(x), each part in its scale."""


def steady_state(march: March, state: State, depth: int, scale: State, steps: int) -> State:
    """The state at the AC voltage's zero that repeats itself, sought from `state` in about so many `steps` of the march.

    `scale` is the size of each part. The answer is the closest state met; after a failure, where plain marching led from it.
    """
    search = _Search(march, depth, scale, steps)
    search.begin(state)
    while not search.done and search.left > 0 and search.improve():
        pass
    return search.state if search.done or search.size < _ENOUGH else search.marched_on()


class _Search:
    def __init__(self, march: March, depth: int, scale: State, steps: int) -> None:
        self.march, self.depth, self.scale, self.left = march, depth, scale, steps
        self.done = False

    def begin(self, state: State) -> None:
        self.state, self.gap = state, self._gap_at(state)

    @property
    def size(self) -> float:
        return _size(self.gap)

    def improve(self) -> bool:
        """Newton's steps from one measured matrix for as long as each is better than the last; whether any was taken.

        A gap says little of the distance in a slow circuit; the step that Newton's method foretells does.
        """
        if not math.isfinite(self.size):
            return False
        rows, before = self._measured(), self.state
        for turn in range(_TURNS):
            if self.done or self.left <= 0 or not self._step(rows, _DETOUR if turn == 0 else 1.0):
                break
        return self.done or self.state != before

    def _step(self, rows: Rows, allowance: float) -> bool:
        """One of Newton's steps, shortened as long as the gap grows by more than allowed; whether one was taken."""
        step = _solved(rows, [-one for one in self.gap])
        if step is None or not all(map(math.isfinite, step)):
            return False
        self.done = _size(step) < _CLOSE
        for _ in range(_SHORTENINGS):
            tried = self._moved(step)
            then = self._gap_at(tried)
            if _size(then) < allowance * self.size:
                _update(rows, step, [new - old for new, old in zip(then, self.gap, strict=True)])
                self.state, self.gap = tried, then
                return True
            if self.done or self.left <= 0:
                break
            step = [part / 4 for part in step]
        return self.done

    def _measured(self) -> Rows:
        columns = []
        for part in range(3):
            there = self._gap_at(self._moved([_DISTURBANCE if one == part else 0.0 for one in range(3)]))
            columns.append([(new - old) / _DISTURBANCE for new, old in zip(there, self.gap, strict=True)])
        return [list(row) for row in zip(*columns, strict=True)]

    def _moved(self, step: list[float]) -> State:
        (x, y, z), (i, j, k), (u, v, w) = self.state, step, self.scale
        return x + i * u, y + j * v, z + k * w

    def _gap_at(self, state: State) -> Gap:
        """Endless where the rectifier never conducts: nothing feeds the load there, and a small gap is no sign of nearness."""
        passage = self.march.span(state, self.depth)
        self.left -= passage.conducting + _LEAPS
        if passage.conducting == 0:
            return [math.inf] * 3
        return [(before - then) / size for before, then, size in zip(state, passage.state, self.scale, strict=True)]

    def marched_on(self) -> State:
        state = self.state
        for _ in range(_PLAIN_SPANS):
            state = self.march.span(state, self.depth).state
        return state


def _size(parts: list[float]) -> float:
    return max(map(abs, parts))


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
