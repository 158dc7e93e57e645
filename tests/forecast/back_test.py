"""How well forecasts hold what they promise, on invented shops whose truth is known: python -m tests.forecast.back_test

Every job is forecast from earlier jobs of its shop only. Printed are, by number of past jobs and by kind of shop: the share of
prices inside the range that promises 80 of 100 (with its standard error over shops, as jobs of one shop stray together), the
error and the width; how good the chances are against what is usual alone (Brier score, logarithmic loss); and their calibration.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import log
from statistics import fmean

from jobs.forecast.history import PastJob, learn_from
from jobs.forecast.total import DRAWS, forecast
from tests.forecast.shops import KINDS, Kind, Shop

SIZES = (0, 5, 20, 50, 150, 400)
JOBS_A_YEAR = 60


@dataclass(frozen=True)
class Held:
    """One job that was held back, beside its forecast. `chances`: (forecast, usual alone, replaced) of each open position."""

    kind: str
    shop: int
    past: int
    low: float
    median: float
    high: float
    actual: float
    chances: tuple[tuple[float, float, bool], ...]

    @property
    def inside(self) -> bool:
        return self.low <= self.actual <= self.high

    @property
    def error(self) -> float:
        """How far off the median was, as a share of what the job came to."""
        return abs(self.median - self.actual) / self.actual

    @property
    def width(self) -> float:
        return (self.high - self.low) / self.median


def held_back(kind: Kind, seed: int, sizes: Sequence[int], jobs_each: int, draws: int = DRAWS) -> list[Held]:
    """One shop: for each size, the next jobs forecast from that many earlier ones."""
    shop, last = Shop(kind, seed), max(sizes) + jobs_each
    made = [shop.job(place / last, 0.0) for place in range(last)]
    usual = learn_from([])
    held = []
    for past in sizes:
        learnt = learn_from([aged(job, (past - place) / JOBS_A_YEAR * 365) for place, (job, _) in enumerate(made[:past])])
        for place, (job, case) in enumerate(made[past : past + jobs_each]):
            outlook = forecast(case, learnt, rate_minor_per_hour=job.rate_minor_per_hour, seed=1000 * seed + place, draws=draws)
            chances = tuple(
                (outlook.chances[one.key], usual.likelihoods.of(one.cell).mean, seen.replaced)
                for one, seen in zip(case.positions, job.positions, strict=True)
                if one.replace is None
            )
            billed = float(job.billed_minor or 0)
            held.append(Held(kind.name, seed, past, outlook.low_minor, outlook.median_minor, outlook.high_minor, billed, chances))
    return held


def aged(job: PastJob, days: float) -> PastJob:
    return PastJob(
        job.like, job.positions, job.minutes, job.rate_minor_per_hour, job.billed_minor, job.fees_minor, job.tax_factor, days
    )


def coverage(held: Sequence[Held]) -> tuple[float, float]:
    """(share inside, its standard error over shops)."""
    share = fmean(one.inside for one in held)
    by_shop: dict[int, list[float]] = defaultdict(list)
    for one in held:
        by_shop[one.shop].append(one.inside - share)
    return share, sum(sum(row) ** 2 for row in by_shop.values()) ** 0.5 / len(held)


def losses(held: Iterable[Held]) -> tuple[float, float, float, float]:
    """(Brier score, that of what is usual alone, logarithmic loss, that of what is usual alone)."""
    rows = [row for one in held for row in one.chances]
    return (
        fmean((chance - replaced) ** 2 for chance, _, replaced in rows),
        fmean((usual - replaced) ** 2 for _, usual, replaced in rows),
        -fmean(log(chance if replaced else 1 - chance) for chance, _, replaced in rows),
        -fmean(log(usual if replaced else 1 - usual) for _, usual, replaced in rows),
    )


def deciles(held: Iterable[Held]) -> list[tuple[float, float, int]]:
    """(mean chance, share replaced, positions) by tenths of the chance."""
    bins: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for one in held:
        for chance, _, replaced in one.chances:
            bins[min(int(chance * 10), 9)].append((chance, replaced))
    return [(fmean(c for c, _ in rows), fmean(r for _, r in rows), len(rows)) for _, rows in sorted(bins.items())]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=5, help="shops of each kind")
    parser.add_argument("--jobs", type=int, default=8, help="jobs held back at each size of history")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    held: list[Held] = []
    for number in range(asked.shops * len(KINDS)):
        held += held_back(KINDS[number % len(KINDS)], asked.seed * 1000 + number, SIZES, asked.jobs)
    print(f"{len(held)} held-back jobs of {asked.shops * len(KINDS)} shops\n")
    _table("past jobs", held, lambda one: one.past)
    _table("kind of shop", held, lambda one: one.kind)
    share, doubt = coverage(held)
    print(f"all: {share:.1%} ± {doubt:.1%} inside (80 % promised)\n")
    print("chance said   replaced   positions")
    for said, was, count in deciles(held):
        print(f"{said:11.2f} {was:10.2f} {count:11}")


def _table(head: str, held: Sequence[Held], by: Callable[[Held], int | str]) -> None:
    print(f"{head:14} jobs  inside ± s.e.    error  width   Brier (usual)   log loss (usual)")
    for key in dict.fromkeys(map(by, held)):
        rows = [one for one in held if by(one) == key]
        share, doubt = coverage(rows)
        error, width = fmean(one.error for one in rows), fmean(one.width for one in rows)
        brier, usual, loss, usual_loss = losses(rows)
        print(
            f"{key!s:14} {len(rows):4}  {share:6.1%} ± {doubt:4.1%}  {error:6.1%}  {width:5.2f}"
            f"   {brier:.3f} ({usual:.3f})   {loss:.3f} ({usual_loss:.3f})"
        )
    print()


if __name__ == "__main__":
    main()
