"""What is learned from past jobs, against a textbook's worked examples and against scipy.stats as a reference library."""

import numpy as np
import pytest
from scipy import stats

from jobs.forecast.betas import Beta, of_mean, of_moments
from jobs.forecast.likelihood import Cell, learn
from jobs.forecast.lognormal import FREEDOM, Seen, fitted
from jobs.forecast.priors import figures
from jobs.forecast.rates import Rate
from jobs.forecast.set_effect import SetShare
from tests.outside.facts import agree, facts


@pytest.mark.parametrize("row", facts("learning.csv"), ids=lambda row: row["id"])
def test_a_textbooks_beta_posterior(row: dict[str, str]) -> None:
    known = of_moments(float(row["prior_mean"]), float(row["prior_sd"]) ** 2).after(float(row["seen"]), float(row["yes"]))

    agree(row, round(known.mean, 3) == float(row["mean"]), f"mean {known.mean}")
    agree(row, round(known.variance**0.5, 3) == float(row["sd"]), f"sd {known.variance**0.5}")
    if row["low"]:
        low, high = known.interval(0.95)
        agree(row, (round(low, 3), round(high, 3)) == (float(row["low"]), float(row["high"])), f"interval {low}, {high}")


def test_a_textbooks_rate() -> None:
    """Section 2.6 of the same (quoted from memory): a Gamma(3, 5) prior and 3 deaths in 2.0 make Gamma(6, 7), mean 0.86."""
    known = Rate(3, 5).after(3, 2)

    assert (known.shape, known.exposure) == (6, 7)
    assert round(known.mean, 2) == 0.86


@pytest.mark.parametrize(("alpha", "beta"), [(0.3, 4.0), (2.0, 2.0), (38.8, 2.1)])
def test_a_chance_agrees_with_the_reference_library(alpha: float, beta: float) -> None:
    known, reference = Beta(alpha, beta), stats.beta(alpha, beta)

    assert known.mean == pytest.approx(reference.mean())
    assert known.variance == pytest.approx(reference.var())
    assert known.interval() == pytest.approx(reference.interval(0.8), abs=1e-9)


@pytest.mark.parametrize(("seen", "yes"), [(1, 1), (12, 3), (40, 40)])
def test_the_chance_of_the_next_is_what_the_beta_binomial_says(seen: int, yes: int) -> None:
    """P(next is yes | so many were) = P(so many, then yes) / P(so many), both by scipy.stats.betabinom."""
    prior = of_mean(0.3, 6)
    one_more = stats.betabinom.pmf(yes + 1, seen + 1, prior.alpha, prior.beta) * (yes + 1) / (seen + 1)

    assert prior.after(seen, yes).mean == pytest.approx(one_more / stats.betabinom.pmf(yes, seen, prior.alpha, prior.beta))


def test_forecasts_of_an_amount_are_students_t() -> None:
    """One unknown middle under a normal-inverse-gamma prior, in the closed form of Bayesian Data Analysis, section 3.3."""
    values = np.array([0.4, -0.3, 1.1, 0.2, 0.9, -0.1])
    wide = 1.7
    fit = fitted([Seen(place, float(value), {"middle": 1.0}) for place, value in enumerate(values)], {"middle": wide})
    count, strength = len(values), wide**-2
    freedom = FREEDOM + count
    scatter = FREEDOM + ((values - values.mean()) ** 2).sum() + strength * count / (strength + count) * values.mean() ** 2
    scale = (scatter / freedom * (1 + 1 / (strength + count))) ** 0.5
    reference = stats.t(freedom, loc=count * values.mean() / (strength + count), scale=scale)

    told = fit.predicted({"middle": 1.0})

    assert [told.at(share) for share in (0.1, 0.5, 0.9)] == pytest.approx(reference.ppf([0.1, 0.5, 0.9]))


def test_drawn_amounts_scatter_like_students_t() -> None:
    fit = fitted([Seen(place, value, {"middle": 1.0}) for place, value in enumerate([0.4, -0.3, 1.1])], {"middle": 1.0})
    fate = np.random.default_rng(5)
    middles, spread = fit.drawn([{"middle": 1.0}], fate, 20_000)
    told = fit.predicted({"middle": 1.0})

    fit_of_draws = stats.kstest(
        middles[:, 0] + spread * fate.standard_normal(20_000), stats.t(told.freedom, told.middle, told.scale).cdf
    )

    assert fit_of_draws.statistic < 0.012


def test_a_job_in_common_is_generalised_least_squares() -> None:
    """Amounts of one job share scatter: the taken-down regression gives what the whole covariance matrix gives."""
    rows = [(0, 1.0), (0, 1.4), (0, 0.9), (1, -0.5), (1, -0.2), (2, 0.3), (3, 2.0), (3, 2.2)]
    fit = fitted([Seen(job, value, {"middle": 1.0}) for job, value in rows], {"middle": 2.0})
    values, jobs = np.array([value for _, value in rows]), np.array([job for job, _ in rows])
    whole = (1 - fit.share) * np.eye(len(rows)) + fit.share * (jobs[:, None] == jobs[None, :])
    precision = 2.0**-2 + np.linalg.inv(whole).sum()

    assert fit.share > 0
    assert float(fit.middles[0]) == pytest.approx((np.linalg.inv(whole) @ values).sum() / precision)
    assert float(fit.doubts[0, 0]) == pytest.approx(1 / precision)


def test_the_tree_of_kinds_gives_what_a_sum_over_all_chances_gives() -> None:
    """A role with two kinds that contradict what is usual, summed over a fine grid with scipy.stats.betabinom."""
    counts = {("valve", "output"): (30, 20), ("valve", "pentode"): (12, 1)}
    learnt = learn({Cell(*path): row for path, row in counts.items()})
    habit, chances = stats.norm(0, figures("shop")["habit"]), (np.arange(800) + 0.5) / 800
    strengths = [figures("levels")[level] for level in ("family", "age_band", "supply_kind")]
    usual = stats.norm.ppf(0.15) * (1 + habit.var()) ** 0.5
    role = sum(
        habit.pdf(shift) * stats.beta(8 * middle, 8 * (1 - middle)).pdf(chances)
        for shift in np.linspace(-1, 1, 41)
        for middle in (stats.norm.cdf(usual + shift),)
    )
    # Three steps lead from a role down to what was counted; here the log is told of the family by a sum over the lower two.
    for seen, yes in counts.values():
        role = role * _told(
            _told(_told_by_counts(seen, yes, strengths[2], chances), strengths[1], chances), strengths[0], chances
        )

    assert learnt.tied(("valve",)).known.mean == pytest.approx((chances * role).sum() / role.sum(), abs=0.003)


def _told_by_counts(seen: float, yes: float, strength: float, chances: np.ndarray) -> np.ndarray:
    return stats.betabinom.pmf(yes, seen, strength * chances, strength * (1 - chances))


def _told(below: np.ndarray, strength: float, chances: np.ndarray) -> np.ndarray:
    inside = stats.beta.pdf(chances[None, :], strength * chances[:, None], strength * (1 - chances[:, None]))
    return inside @ below / inside.sum(axis=1)


def test_what_a_set_has_in_common_leaves_each_chance_alone() -> None:
    """The one-factor normal copula: a share of doubt in common changes no single chance (scipy.stats.norm)."""
    share, of_set = SetShare.usual().drawn([], np.random.default_rng(2), 40_000)
    inside = stats.norm.cdf((stats.norm.ppf(0.3) + np.sqrt(share) * of_set) / np.sqrt(1 - share))

    assert float(inside.mean()) == pytest.approx(0.3, abs=0.004)
