"""Whatever numbers the bench's sums are given, they answer or refuse in words."""

import inspect
from contextlib import suppress
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from jobs.bench import dissipation, handbook
from jobs.bench.heat import heat_in
from jobs.bench.output_stage import StageReadings, after_bplus_change, check_stage
from jobs.bench.problems import BenchError
from jobs.bench.reforming import Taken, advise, standing_of

SUMS = [
    one
    for module in (dissipation, handbook)
    for one in vars(module).values()
    if inspect.isfunction(one) and one.__module__ == module.__name__
]
ODD = ("0", "-1", "1e-30", "1e30", "NaN", "sNaN", "Infinity", "-Infinity", "1e999999", "7.3", "135", "257", "0.05")
numbers = st.sampled_from([Decimal(one) for one in ODD]) | st.decimals(min_value=-2000, max_value=2000)
perhaps = st.none() | numbers


@given(st.sampled_from(SUMS), st.lists(numbers, min_size=5, max_size=5))
def test_a_sum_gives_a_number_or_a_reason(work, given_numbers):
    with suppress(BenchError):
        assert work(*given_numbers[: len(inspect.signature(work).parameters)]).is_finite()


@given(st.sampled_from(["EL84", "6V6-GT", "P460", "", "x" * 500]), st.lists(perhaps, min_size=9, max_size=9), numbers, numbers)
def test_a_stage_is_judged_or_refused(valve, given_numbers, plate, bplus):
    with suppress(BenchError):
        check = check_stage(valve, StageReadings(plate, *given_numbers), plate_watts_limit=given_numbers[0])
        assert all(reason.message and reason.source for reason in check.reasons)
        assert after_bplus_change(check, bplus, plate).answer in ("yes", "warn")


@given(numbers, numbers, perhaps, st.lists(st.tuples(numbers, numbers), max_size=3))
def test_reforming_is_advised_and_judged_or_refused(farads, volts, ohms, readings):
    with suppress(BenchError):
        assert standing_of([Taken(Decimal(at), *one) for at, one in enumerate(readings)], volts, farads).sentence
    with suppress(BenchError):
        assert advise(farads, volts, "jan_c_62", ohms).sentences


@given(numbers, numbers, perhaps)
def test_heat_is_said_or_refused(volts, ohms, rated):
    with suppress(BenchError):
        assert heat_in(volts, ohms, rated).sentence
