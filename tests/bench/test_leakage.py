"""What a capacitor may leak, where no formula covers it."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from jobs.bench.leakage import NoLimit, allowed_leakage, coupling_leaks_too_much, least_insulation_ohms

D = Decimal


@pytest.mark.parametrize(
    ("farads", "volts", "rule"),
    [("0", "450", "jan_c_62"), ("1e-5", "0", "jan_c_62"), ("1e-5", "450", "by_feel"), ("1e-5", "5000", "today")],
)
def test_what_no_formula_covers_is_refused(farads, volts, rule):
    with pytest.raises(NoLimit):
        allowed_leakage(D(farads), D(volts), rule)


def test_an_electrolytics_insulation_follows_from_its_allowed_leakage():
    ohms, _ = least_insulation_ohms(read_notation("20 µF 450 V"))
    assert ohms == D(450) / D("0.0011")


def test_a_small_capacitor_wants_far_more_insulation_than_an_electrolytic():
    assert least_insulation_ohms(read_notation("0.02 µF 400 V"))[0] > 100 * least_insulation_ohms(read_notation("8 µF"))[0]


def test_a_coupling_capacitor_that_shifts_the_bias_by_a_tenth_is_replaced():
    # source: konferencjaskd2024.pl 29_09_12_2400
    assert coupling_leaks_too_much(D("1.25"), D("-12.5"))
    assert not coupling_leaks_too_much(D("1.2"), D("-12.5"))
