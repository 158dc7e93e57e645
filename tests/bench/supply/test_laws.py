"""The law of a rectifier type."""

import pytest

from inventory.components.rectifiers import rectifier_types
from jobs.bench.supply import Linear, SupplyError, ThreeHalves, rectifier_law


@pytest.mark.parametrize(
    ("type_name", "volts", "amps"), [("6X4", 22, 0.07), ("6x4", 22, 0.07), ("AZ1", 28, 0.06), ("35W4", 18, 0.2)]
)
def test_a_valve_drops_what_its_sheet_says_at_that_current(type_name, volts, amps):
    law = rectifier_law(type_name)
    assert isinstance(law, ThreeHalves)
    assert law.perveance * volts**1.5 == pytest.approx(amps)


def test_a_remembered_drop_says_so():
    assert rectifier_law("35W4").from_memory
    assert not rectifier_law("6X4").from_memory
    assert rectifier_law("6X4").source.startswith("tubeofile.com")


def test_silicon_conducts_like_a_small_resistance():
    assert rectifier_law("1N4007") == Linear(1.0, "common practice, no source", True)


def test_types_with_the_same_data_have_the_same_law():
    assert rectifier_law("80") == rectifier_law("5Y3-GT")
    assert rectifier_law("AZ11") == rectifier_law("AZ1")


@pytest.mark.parametrize("type_name", ["", "6V6-GT", "<script>", "\0", "x" * 100_000])
def test_a_type_without_a_drop_on_file_is_unknown(type_name):
    with pytest.raises(SupplyError) as refused:
        rectifier_law(type_name)
    assert refused.value.code == "unknown"
    assert "Give a type on file such as 5Y3-GT" in refused.value.message
    assert len(refused.value.message) < 350


def test_most_types_on_file_have_a_law():
    lawful = 0
    for type_name in rectifier_types():
        try:
            lawful += isinstance(rectifier_law(type_name), ThreeHalves)
        except SupplyError:
            continue
    assert lawful >= 25
