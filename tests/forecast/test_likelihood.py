"""Chances that positions need replacing: with no history, with much, and what kinds tell about each other."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.components.materials import technologies
from inventory.components.roles import ROLES
from jobs.forecast.betas import Beta
from jobs.forecast.likelihood import Cell, learn
from jobs.forecast.priors import family_shifts, role_prior, role_priors, step_priors, table
from jobs.models.labour import Step

PAPER = Cell("coupling", "paper", "1930s", "transformer")
MICA = Cell("coupling", "mica", "1930s", "transformer")

cells = st.builds(
    Cell,
    st.sampled_from(["coupling", "valve", "plate_load", "unheard of"]),
    st.sampled_from(["", "paper", "mica"]),
    st.sampled_from(["", "1930s", "1950s"]),
    st.sampled_from(["", "battery"]),
)
pairs = st.tuples(st.floats(0, 300), st.floats(0, 1)).map(lambda two: (two[0], two[0] * two[1]))
histories = st.dictionaries(cells, pairs, max_size=8)


def test_every_role_and_step_has_a_prior_with_its_source() -> None:
    assert set(role_priors()) == set(ROLES)
    assert set(step_priors()) == set(Step.values)
    for row in [*table()["role"], *table()["family"], *table()["step"]]:
        assert row["origin"] in ("practice", "memory"), row
        assert row["source"], row


def test_families_are_materials_that_the_shop_knows() -> None:
    assert set(family_shifts()) == set(technologies())


@pytest.mark.parametrize("role", ["coupling", "valve", "mains_transformer", "other"])
def test_with_no_history_the_chance_is_the_usual_one(role: str) -> None:
    chance = learn({}).of(Cell(role))

    assert chance.mean == pytest.approx(role_prior(role).chance, abs=0.002)
    assert (chance.seen, chance.replaced) == (0, 0)
    assert chance.low < chance.mean < chance.high


def test_words_say_where_a_chance_comes_from() -> None:
    assert learn({}).of(PAPER).words == "None seen here yet; the chance is what is usual in the trade for: coupling capacitor."

    learnt = learn({PAPER: (40, 38)})

    assert learnt.of(PAPER).words == "Here 38 of 40 were replaced: coupling capacitor (paper, 1930s, transformer)."
    assert learnt.of(Cell("coupling", "paper", "1950s")).words == "Here 38 of 40 were replaced: coupling capacitor (paper)."


def test_what_a_part_is_made_of_moves_the_usual_chance() -> None:
    usual = learn({})

    assert usual.of(MICA).mean < 0.4 < usual.of(Cell("coupling")).mean < usual.of(PAPER).mean


def test_much_history_overrules_what_is_usual() -> None:
    assert learn({PAPER: (400, 40)}).of(PAPER).mean == pytest.approx(0.1, abs=0.02)


def test_a_kind_never_seen_learns_from_its_siblings_but_keeps_its_doubt() -> None:
    learnt, usual = learn({Cell("valve", "output"): (60, 30)}), learn({})
    seen, unseen = learnt.of(Cell("valve", "output")), learnt.of(Cell("valve", "pentode"))

    assert usual.of(Cell("valve", "pentode")).mean < unseen.mean < seen.mean
    assert unseen.high - unseen.low > seen.high - seen.low


def test_a_shop_that_replaces_all_is_expected_to_replace_more_elsewhere() -> None:
    roles = ("coupling", "bypass", "tone", "avc", "plate_load", "grid_leak", "speaker", "switch")
    eager = learn({Cell(role): (30, 29) for role in roles})

    assert eager.of(Cell("valve")).mean > learn({}).of(Cell("valve")).mean + 0.05


def test_evidence_that_is_worth_less_leaves_more_doubt() -> None:
    counts = {PAPER: (60.0, 30.0)}
    whole, half = learn(counts).of(PAPER), learn(counts, {PAPER: (20.0, 10.0)}).of(PAPER)

    assert half.high - half.low > whole.high - whole.low
    assert (half.seen, half.replaced) == (60, 30)


def test_more_replaced_than_seen_is_refused() -> None:
    with pytest.raises(ValueError, match=r"5 replaced of 4 seen can't be \(valve\)"):
        learn({Cell("valve"): (4, 5)})


@settings(max_examples=40, deadline=None)
@given(histories, cells)
def test_a_chance_is_never_none_and_never_certain(counts: dict[Cell, tuple[float, float]], cell: Cell) -> None:
    chance = learn(counts).of(cell)

    assert 0 < chance.mean < 1
    assert 0 <= chance.low <= chance.high <= 1
    assert chance.alpha > 0
    assert chance.beta > 0


@settings(max_examples=30, deadline=None)
@given(histories, cells, st.randoms())
def test_the_order_of_counts_makes_no_difference(
    counts: dict[Cell, tuple[float, float]], cell: Cell, dice: random.Random
) -> None:
    mixed = list(counts.items())
    dice.shuffle(mixed)

    assert learn(dict(mixed)).of(cell) == learn(counts).of(cell)


@given(st.floats(0.1, 50), st.floats(0.1, 50), st.integers(1, 60))
@settings(max_examples=40, deadline=None)
def test_more_evidence_never_widens_the_doubt_on_average(alpha: float, beta: float, seen: int) -> None:
    """The expected variance after looking, over all that may be seen, is below the variance before (law of total variance)."""
    from scipy.stats import betabinom

    before = Beta(alpha, beta)
    expected = sum(betabinom.pmf(yes, seen, alpha, beta) * before.after(seen, yes).variance for yes in range(seen + 1))

    assert expected <= before.variance * (1 + 1e-9)
