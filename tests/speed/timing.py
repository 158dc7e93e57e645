"""Takes times that a busy machine disturbs least."""

import gc
from collections.abc import Callable
from time import perf_counter
from typing import Any


def best_of(work: Callable[[], Any], rounds: int = 5) -> float:
    """Seconds of the quickest of `rounds` runs of `work`: the one that others disturbed least."""
    return min(_seconds(work) for _ in range(max(1, rounds)))


def _seconds(work: Callable[[], Any]) -> float:
    gc.collect()
    started = perf_counter()
    work()
    return perf_counter() - started
