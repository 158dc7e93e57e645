"""What one past job tells, as a reader lays it out of the log; and what a shop has learned from all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from jobs.forecast.durations import SetLike, Times, learn_times
from jobs.forecast.likelihood import Cell, Likelihoods, learn
from jobs.forecast.prices import Priced, Prices, learn_prices
from jobs.forecast.rest import Rest, learn_rest
from jobs.forecast.set_effect import SetShare, learn_set_share

# A job that old counts half: what is bought, charged and replaced changes. The shop's own step, no source.
HALF_LIFE_DAYS = 1460


@dataclass(frozen=True, slots=True)
class SeenPosition:
    """A position that was looked at. `replaced` also where its part was removed for good; `price_minor` what the customer was
    charged for the part without tax, None where nothing was fitted or nothing charged."""

    cell: Cell
    replaced: bool
    price_minor: int | None = None


@dataclass(frozen=True, slots=True)
class PastJob:
    """A finished job that was really inspected.

    `minutes` worked by step (a code of priors.toml), without what came to 0. `billed_minor` what the customer paid for it with
    tax, None where no bill stands; `fees_minor` the part of that which is fees, with tax. `rate_minor_per_hour` without tax and
    `tax_factor` (1.2 for 20 %) of that day. `days_ago` since it was finished.
    """

    like: SetLike
    positions: tuple[SeenPosition, ...]
    minutes: tuple[tuple[str, float], ...]
    rate_minor_per_hour: float
    billed_minor: int | None = None
    fees_minor: int = 0
    tax_factor: float = 1.0
    days_ago: float = 0

    @property
    def weight(self) -> float:
        return float(0.5 ** (max(self.days_ago, 0.0) / HALF_LIFE_DAYS))

    @property
    def replaced(self) -> int:
        return sum(one.replaced for one in self.positions)


@dataclass(frozen=True, slots=True)
class Learnt:
    """All that a forecast rests on. `widening` comes from `calibrate`: how much wider its own past says that it must be."""

    likelihoods: Likelihoods
    set_share: SetShare
    times: Times
    prices: Prices
    rest: Rest
    jobs: int
    widening: float = 1.0


def learn_from(past: Sequence[PastJob], *, widening: float = 1.0) -> Learnt:
    """The order of the jobs makes no difference; no job at all is fine: then all rests on what is usual in the trade."""
    jobs = sorted(past, key=lambda job: (-job.days_ago, repr(job)))
    weights = _weights(jobs)
    effective = sum(job.weight for job in jobs if job.positions)
    shared = SetShare.usual().middle / effective if effective else 0.0
    likelihoods = learn(_counts(jobs), weights, shared_doubt=shared)
    return Learnt(
        likelihoods=likelihoods,
        set_share=learn_set_share([[(one.cell, one.replaced) for one in job.positions] for job in jobs], likelihoods),
        times=learn_times([(job.like, job.minutes, job.replaced, job.weight) for job in jobs]),
        prices=learn_prices([(_priced(job), job.weight) for job in jobs]),
        rest=learn_rest([(share, job.weight) for job in jobs if (share := _billed_share(job)) is not None]),
        jobs=len(jobs),
        widening=widening,
    )


def _counts(jobs: Sequence[PastJob]) -> dict[Cell, tuple[float, float]]:
    counts: dict[Cell, tuple[float, float]] = defaultdict(lambda: (0.0, 0.0))
    for job in jobs:
        for one in job.positions:
            seen, replaced = counts[one.cell]
            counts[one.cell] = seen + 1, replaced + one.replaced
    return dict(counts)


def _weights(jobs: Sequence[PastJob]) -> dict[Cell, tuple[float, float]]:
    """What the counts are worth: several positions of one kind in one set tell less than as many sets, old jobs less than new."""
    share = SetShare.usual().middle
    counts: dict[Cell, tuple[float, float]] = defaultdict(lambda: (0.0, 0.0))
    for job in jobs:
        for cell, (seen, replaced) in sorted(_counts([job]).items()):
            worth = job.weight / (1 + (seen - 1) * share)
            before = counts[cell]
            counts[cell] = before[0] + seen * worth, before[1] + replaced * worth
    return dict(counts)


def _priced(job: PastJob) -> list[Priced]:
    return [
        Priced(one.cell.role, one.cell.family, one.price_minor * 60 / job.rate_minor_per_hour)
        for one in job.positions
        if one.price_minor and job.rate_minor_per_hour > 0
    ]


def _billed_share(job: PastJob) -> float | None:
    """What was billed for work and parts over what the log adds up to; None where no work was logged or nothing billed."""
    work = sum(minutes for _, minutes in job.minutes) * job.rate_minor_per_hour / 60
    if job.billed_minor is None or work <= 0 or job.billed_minor <= job.fees_minor:
        return None
    return (job.billed_minor - job.fees_minor) / ((work + sum(one.price_minor or 0 for one in job.positions)) * job.tax_factor)
