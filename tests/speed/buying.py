"""How much the cheapest basket saves over buying plainly, and how long it takes to find, on generated cases.

    .venv/bin/python -m tests.speed.buying          # 200 cases
    .venv/bin/python -m tests.speed.buying 30       # or so many

A third of the cases each with up to 8 wants at 3 suppliers, 20 at 5 and 40 at 6; every want has two or three price breaks at more
than half of the suppliers. Held against all from the cheapest single supplier, and each part where it is cheapest by itself.
"""

import sys
from fractions import Fraction
from statistics import mean, median
from time import perf_counter

from inventory.buying import Basket, Choice, cheapest
from tests.inventory.buying_cases import TODAY, a_case

CASES = 200
SIZES = ((8, 3), (20, 5), (40, 6))


def main(cases: int = CASES) -> None:
    cheapest(*a_case(0, 2, 2), TODAY)
    found = [_timed(seed) for seed in range(cases)]
    for size in SIZES:
        _print(f"{size[0]} wants, {size[1]} suppliers", [one for seed, one in enumerate(found) if _size(seed) == size])
    _print("all", found)


def _size(seed: int) -> tuple[int, int]:
    return SIZES[seed % len(SIZES)]


def _timed(seed: int) -> tuple[Choice, float]:
    case = a_case(seed, *_size(seed))
    started = perf_counter()
    choice = cheapest(*case, TODAY)
    return choice, perf_counter() - started


def _print(title: str, found: list[tuple[Choice, float]]) -> None:
    seconds = sorted(taken for _, taken in found)
    proved = sum(choice.is_proved for choice, _ in found)
    print(f"  {title}: {len(found)} cases, {proved} proved; {median(seconds):.2f} s at the median, {seconds[-1]:.2f} s at most")
    for way in ("each", "single"):
        _compare(way, [(choice.best, plain) for choice, _ in found if (plain := getattr(choice, way)) is not None])


def _compare(way: str, pairs: list[tuple[Basket, Basket]]) -> None:
    saved = [float(Fraction(1) - best.total / plain.total) for best, plain in pairs]
    dearer = sum(one < 0 for one in saved)
    wins = sum(one > 0 for one in saved)
    name = "each where it is cheapest" if way == "each" else "all from one supplier"
    if saved:
        print(
            f"    against {name} ({len(saved)} can be bought so): cheaper {wins} times, dearer {dearer} times; "
            f"saves {mean(saved):.1%} on average, {max(saved):.1%} at most"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
