"""The heat in a resistor: how it is said, and when the rating is enough."""

from decimal import Decimal

import pytest

from jobs.bench import dissipation, handbook
from jobs.bench.heat import heat_in
from jobs.bench.problems import BenchError

D = Decimal


@pytest.mark.parametrize(
    ("volts", "ohms", "rated", "level", "said"),
    [
        ("12", "470", "0.5", "warn", "12 V across 470 Ω: 26 mA and 0.31 W; rated 0.5 W, at least twice is wanted: fit 1 W."),
        ("-12", "470", "1", "yes", "12 V across 470 Ω: 26 mA and 0.31 W; rated 1 W, that is enough."),
        ("250", "220000", "0.25", "no", "250 V across 220 kΩ: 1.1 mA and 0.28 W; rated 0.25 W, it burns: fit 1 W."),
        ("100", "10000", None, "open", "100 V across 10 kΩ: 10 mA and 1 W; at least twice is wanted: 2 W."),
        ("0.1", "220000", "0.5", "yes", "0.1 V across 220 kΩ: 0.45 µA and less than 1 mW; rated 0.5 W, that is enough."),
    ],
)
def test_the_sentence_a_repairer_would_say(volts, ohms, rated, level, said):
    found = heat_in(D(volts), D(ohms), None if rated is None else D(rated))
    assert (found.level, found.sentence) == (level, said)


@pytest.mark.parametrize(
    ("volts", "ohms", "rated"), [("NaN", "470", "1"), ("1e9", "470", "1"), ("12", "0", "1"), ("12", "470", "NaN")]
)
def test_absurd_numbers_are_refused(volts, ohms, rated):
    with pytest.raises(BenchError):
        heat_in(D(volts), D(ohms), D(rated))


@pytest.mark.parametrize(
    "work",
    [
        lambda: dissipation.watts_from_volts(D(1), D(0)),
        lambda: dissipation.resonance_hertz(D(-1), D(1)),
        lambda: dissipation.watts_from_volts(D("1e999999"), D("1e-999999")),
        lambda: handbook.decibels_of_volts(D(-1)),
        lambda: handbook.wave_metres(D("NaN")),
        lambda: handbook.fuse_amps(D("Infinity"), D(117)),
    ],
)
def test_a_sum_that_cant_be_done_is_refused_in_words(work):
    with pytest.raises(BenchError, match="Give numbers above zero that a radio has"):
        work()
