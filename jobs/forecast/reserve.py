"""What open warranties may still cost: the expected sum and the range that holds it in 80 of 100 cases.

Claims come by a Poisson process of one rate a day, the rate itself known only in part (Gamma-Poisson: Gelman et al., Bayesian
Data Analysis, 3rd ed., section 2.6); the cost of a comeback is log-normal with both parameters in doubt (section 3.3). The rate
doesn't fall with the age of a warranty, so old ones are reckoned dearer than they are: cautious, as a reserve should be. The
expected value of many small duties is what IAS 37, paragraph 39, asks for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import log

from jobs.forecast.priors import reserve_prior
from jobs.forecast.rates import Rate

# Fewer draws where each has many claims: their sum scatters less, and memory is bounded.
DRAWS, FEWEST_DRAWS, MOST_CLAIMS = 20_000, 1_000, 2_000_000
SEED = 1938


@dataclass(frozen=True, slots=True)
class OpenWarranty:
    """One that still runs: days since it began, days that are left, and what its job came to without tax, minor units."""

    days_run: int
    days_left: int
    value_minor: int


@dataclass(frozen=True, slots=True)
class ClaimHistory:
    """What happened so far: jobs with a warranty, the days those warranties have run in all, claims that the shop bore.

    `costs_minor`: what each cost the shop (parts at cost and hours), minor units; shorter than `claims` while some are open.
    """

    jobs: int = 0
    exposure_days: float = 0
    claims: int = 0
    costs_minor: tuple[int, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Reserve:
    """`expected_minor` the sum to set aside, `low_minor`..`high_minor` the range of 80 in 100, minor units; `per_year` how many
    claims are expected of one warranty that runs a year. `from_claims` 0 means that all rests on what is usual."""

    expected_minor: int
    low_minor: int
    high_minor: int
    n_open: int
    from_claims: int
    expected_claims: float
    per_year: float
    words: str


def reserve(open_warranties: Sequence[OpenWarranty], history: ClaimHistory) -> Reserve:
    """The same input always gives the same answer. ValueError for negative days, sums or claims."""
    _check(open_warranties, history)
    running = [one for one in open_warranties if one.days_left > 0]
    prior = reserve_prior()
    rate = Rate(prior.claims, prior.days).after(history.claims, history.exposure_days)
    left = sum(one.days_left for one in running)
    expected, low, high = _drawn(running, history, rate, left) if running else (0, 0, 0)
    return Reserve(
        expected, low, high, len(running), history.claims, rate.mean * left, rate.mean * 365, _words(len(running), history)
    )


def _check(open_warranties: Sequence[OpenWarranty], history: ClaimHistory) -> None:
    figures = [figure for one in open_warranties for figure in (one.days_run, one.days_left, one.value_minor)]
    if min([*figures, history.jobs, history.exposure_days, history.claims, *history.costs_minor], default=0) < 0:
        raise ValueError("Days, sums and claims of warranties can't be below 0.")


def _drawn(running: Sequence[OpenWarranty], history: ClaimHistory, rate: Rate, left: float) -> tuple[int, int, int]:
    import numpy as np

    fate = np.random.default_rng(SEED)
    draws = max(FEWEST_DRAWS, min(DRAWS, int(MOST_CLAIMS / max(rate.mean * left, 1))))
    claims = fate.poisson(fate.gamma(rate.shape, 1 / rate.exposure, draws) * left)
    spread, middle = _costs(running, history)
    shared = middle.mean + fate.standard_t(middle.freedom, draws).clip(-3, 3) * middle.doubt
    owner = np.repeat(np.arange(draws), claims)
    each = np.exp(shared[owner] + fate.normal(0, 1, owner.size).clip(-3, 3) * spread)
    sums = np.bincount(owner, weights=each, minlength=draws)
    low, high = np.quantile(sums, (0.1, 0.9))
    return round(float(sums.mean())), round(float(low)), round(float(high))


@dataclass(frozen=True, slots=True)
class _Middle:
    """The middle of the logarithm of a cost: Student's t around `mean`, `doubt` wide, with `freedom` degrees."""

    mean: float
    doubt: float
    freedom: float


def _costs(running: Sequence[OpenWarranty], history: ClaimHistory) -> tuple[float, _Middle]:
    """(spread of the logarithm, its middle): a normal-inverse-gamma prior from what jobs came to, updated by what claims cost."""
    prior = reserve_prior()
    worth = sum(one.value_minor for one in running) / len(running)
    seen = [log(cost) for cost in history.costs_minor if cost > 0]
    usual = log(max(worth, 1) * prior.cost_share)
    mean = (prior.strength * usual + sum(seen)) / (prior.strength + len(seen))
    average = sum(seen) / len(seen) if seen else usual
    freedom = prior.freedom + len(seen)
    squares = (
        prior.freedom * prior.spread**2
        + sum((one - average) ** 2 for one in seen)
        + prior.strength * len(seen) / (prior.strength + len(seen)) * (average - usual) ** 2
    )
    spread = (squares / freedom) ** 0.5
    return spread, _Middle(mean, spread / (prior.strength + len(seen)) ** 0.5, freedom)


def _words(n_open: int, history: ClaimHistory) -> str:
    if not n_open:
        return "No warranty is open, so nothing need be set aside."
    head = _warranties(n_open)
    if not history.claims and not history.jobs:
        return f"{head}. Rests on what is usual in the trade (2.5 % of jobs come back), not yet on your own jobs."
    if not history.claims:
        return f"{head}. None of your {history.jobs} jobs under warranty came back; what is usual in the trade is weighed in."
    claims = "1 claim" if history.claims == 1 else f"{history.claims} claims"
    few = " and, as these are few, on what is usual in the trade" if history.claims < 10 else ""
    return f"{head}. Rests on {claims} out of {history.jobs} of your own jobs{few}."


def _warranties(count: int) -> str:
    return "1 open warranty" if count == 1 else f"{count} open warranties"
