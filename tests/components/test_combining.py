"""Making a value up from two parts: which pairs are found, what each part bears, and what is refused."""

import random
from decimal import Decimal
from itertools import combinations_with_replacement

import pytest

from inventory.components.combining import Made, Needed, made_of, make_up
from inventory.components.joining import CombiningError, StockValue, join

TEN = (Decimal(-10), Decimal(10))


def resistor(pk: int, ohms: float, **more: object) -> StockValue:
    return StockValue(pk, ohms, **{"tolerance_percent": (-5.0, 5.0), "watts": 1.0, "free": 3, **more})  # type: ignore[arg-type]


def can(pk: int, microfarads: float, volts: float = 450.0, **more: object) -> StockValue:
    usual = {"tolerance_percent": (-20.0, 20.0), "volts": volts, "free": 3, "polarised": True}
    return StockValue(pk, microfarads * 1e-6, **{**usual, **more})  # type: ignore[arg-type]


def values(made: tuple[Made, ...]) -> list[list[float]]:
    return [[part.value for part in one.parts] for one in made]


def ohms(value: int, **more: Decimal) -> Needed:
    return Needed("resistance", Decimal(value), TEN, **more)  # type: ignore[arg-type]


def test_the_nearest_single_part_comes_first() -> None:
    found = make_up(ohms(4700), [resistor(1, 5100), resistor(2, 4700), resistor(3, 4300)])
    assert values(found.single)[0] == [4700]
    assert found.single[0].deviation_percent == 0


def test_two_in_series_and_in_parallel_are_found() -> None:
    found = make_up(ohms(4700), [resistor(1, 2200), resistor(2, 2400), resistor(3, 9100), resistor(4, 10000)])
    assert sorted(values(found.series)[0]) == [2400, 2400]
    assert sorted(values(found.parallel)[0]) == [9100, 10000]
    assert not found.single


@pytest.mark.parametrize("kind", ["resistance", "capacitance"])
@pytest.mark.parametrize("how", ["series", "parallel"])
@pytest.mark.parametrize("seed", range(5))
def test_no_pair_is_nearer_than_the_first(kind: str, how: str, seed: int) -> None:
    """Against trying every pair there is."""
    chance = random.Random(seed)
    stock = [StockValue(pk, 10 ** chance.uniform(-7, -5) * (1e9 if kind == "resistance" else 1), free=2) for pk in range(60)]
    wanted = Decimal("1e-6") * (Decimal("1e9") if kind == "resistance" else 1)
    needed = Needed(kind, wanted)
    first = getattr(make_up(needed, stock), how)[0]
    every = [made_of(needed, how, pair) for pair in combinations_with_replacement(stock, 2)]  # type: ignore[arg-type]
    worth = [one for one in every if min(join(kind, one.how, one.parts).shares) >= Decimal("0.021")]
    assert round(abs(first.deviation_percent), 1) == round(min(abs(one.deviation_percent) for one in worth), 1)


def test_two_alike_need_two_pieces() -> None:
    alone = [resistor(1, 2350, free=1)]
    assert not make_up(ohms(4700), alone).series
    assert make_up(ohms(4700), [resistor(1, 2350, free=2)]).series
    two_cards = [resistor(1, 2350, free=1), resistor(2, 2350, free=1, watts=2.0)]
    assert [part.id for part in make_up(ohms(4700), two_cards).series[0].parts] == [1, 2]


def test_the_worst_case_of_the_tolerances_is_shown() -> None:
    made = made_of(ohms(4000), "series", [resistor(1, 1000, tolerance_percent=(-20.0, 20.0)), resistor(2, 3000)])
    assert made.tolerance_percent == (Decimal("-8.75"), Decimal("8.75"))  # (0.8 + 2.85) / 4 and (1.2 + 3.15) / 4
    made = made_of(ohms(4000), "series", [resistor(1, 1000, tolerance_percent=None), resistor(2, 3000)])
    assert made.tolerance_percent is None
    assert "Not every part states its tolerance: measure what you made before you fit it." in made.reasons


def test_capacitors_in_parallel_may_have_unequal_tolerances() -> None:
    pair = [can(1, 40, tolerance_percent=(-20.0, 50.0)), can(2, 20, tolerance_percent=(-10.0, 10.0))]
    made = made_of(Needed("capacitance", Decimal("60e-6")), "parallel", pair)
    assert made.tolerance_percent == (Decimal("-16.67"), Decimal("36.67"))


def test_capacitors_in_series_share_the_voltage_by_the_inverse_of_their_value() -> None:
    needed = Needed("capacitance", Decimal("12e-6"), volts_working=Decimal(500), polarised=True)
    made = made_of(needed, "series", [can(1, 20), can(2, 30)])
    assert made.volts_seen == (Decimal(300), Decimal(200))


def test_the_voltage_two_in_series_bear_leaves_room_for_their_tolerances() -> None:
    """Two of 450 V ±20 %: the smaller may be 0.8, the larger 1.2, so that one takes 0.6 of the whole."""
    assert join("capacitance", "series", [can(1, 20), can(2, 20)]).volts_allowed == 750
    exact = can(1, 20, tolerance_percent=(0.0, 0.0))
    assert join("capacitance", "series", [exact, exact]).volts_allowed == 900
    assert join("capacitance", "parallel", [can(1, 20, 450), can(2, 20, 350)]).volts_allowed == 350


def test_resistors_share_the_heat() -> None:
    needed = ohms(4000, watts_dissipated=Decimal(1))
    assert made_of(needed, "series", [resistor(1, 1000), resistor(2, 3000)]).watts_seen == (Decimal("0.25"), Decimal("0.75"))
    parallel = made_of(ohms(750, watts_dissipated=Decimal(1)), "parallel", [resistor(1, 1000), resistor(2, 3000)])
    assert parallel.watts_seen == (Decimal("0.75"), Decimal("0.25"))
    assert parallel.watts_allowed == Decimal("1.33333333333")


def test_a_pair_that_cannot_bear_it_is_not_offered() -> None:
    stock = [can(1, 20, 250.0), can(2, 20, 350.0), can(3, 20, 450.0)]
    found = make_up(Needed("capacitance", Decimal("10e-6"), volts=Decimal(600), polarised=True), stock)
    assert [{part.volts for part in made.parts} for made in found.series] == [{450.0}]
    weak = [resistor(1, 2200, watts=0.25), resistor(2, 2400, watts=0.5)]
    assert [values(make_up(ohms(4700, watts=Decimal(1)), weak).series)] == [[[2400, 2400]]]


def test_what_is_not_recorded_is_not_trusted() -> None:
    stock = [can(1, 20, volts=None), resistor(2, 1)]  # type: ignore[arg-type]
    assert not make_up(Needed("capacitance", Decimal("10e-6"), volts=Decimal(100), polarised=True), stock[:1]).every
    assert make_up(Needed("capacitance", Decimal("10e-6"), polarised=True), stock[:1]).series


def test_an_electrolytic_stays_out_of_places_that_take_none() -> None:
    assert not make_up(Needed("capacitance", Decimal("10e-6")), [can(1, 20), can(2, 10)]).every


def test_a_film_capacitor_and_an_electrolytic_are_not_put_in_series() -> None:
    mixed = [can(1, 20, free=1), can(2, 20.5, free=1, polarised=False)]
    found = make_up(Needed("capacitance", Decimal("10e-6"), polarised=True), mixed)
    assert not found.series
    assert make_up(Needed("capacitance", Decimal("40e-6"), polarised=True), mixed).parallel
    assert made_of(Needed("capacitance", Decimal("10e-6")), "series", mixed).mixes_polarity


@pytest.mark.parametrize(("safety", "where"), [("line_to_line", "across the line"), ("line_to_chassis", "to the chassis")])
def test_nothing_is_made_up_on_the_line(safety: str, where: str) -> None:
    found = make_up(Needed("capacitance", Decimal("10e-9"), safety=safety), [can(1, 0.02), can(2, 0.01)])
    assert not found.every
    assert where in found.refusal


def test_a_part_that_only_trims_is_left_out() -> None:
    assert not make_up(ohms(4700), [resistor(1, 4690), resistor(2, 10)]).series


def test_electrolytics_in_series_come_with_their_cautions() -> None:
    needed = Needed("capacitance", Decimal("10e-6"), volts=Decimal(600), polarised=True)
    said = " ".join(make_up(needed, [can(1, 20)]).series[0].reasons)
    for words in ("balancing resistor across each", "never back to back", "insulate it", "Of 600 V they take 300 V and 300 V."):
        assert words in said


@pytest.mark.parametrize("value", ["NaN", "Infinity", "0", "-5", "1e30", "1e-40"])
def test_an_absurd_value_is_out_of_range(value: str) -> None:
    with pytest.raises(CombiningError) as caught:
        make_up(Needed("resistance", Decimal(value)), [resistor(1, 100)])
    assert caught.value.code == "out_of_range"


def test_another_kind_is_unknown() -> None:
    with pytest.raises(CombiningError) as caught:
        make_up(Needed("inductance", Decimal(1)), [])
    assert caught.value.code == "unknown"


@pytest.mark.parametrize("stray", [float("nan"), float("inf"), 0.0, -1.0, 1e300])
def test_a_stray_card_spoils_nothing(stray: float) -> None:
    stock = [
        resistor(1, stray),
        resistor(2, 2350),
        resistor(3, 2350, watts=stray),
        resistor(4, 1, tolerance_percent=(stray, 5.0)),
    ]
    assert {part.id for part in make_up(ohms(4700), stock).series[0].parts} == {2}
