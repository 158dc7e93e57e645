"""The door to pint: parsed specs and known units only."""

from decimal import Decimal

import pytest

from inventory.components.notation import read_notation
from inventory.components.quantities import UnknownUnit, as_quantity, convert, registry


def test_a_spec_becomes_a_decimal_quantity_in_its_base_unit():
    quantity = as_quantity(read_notation("4K7"))
    assert quantity.to("kiloohm").magnitude == Decimal("4.7")
    assert isinstance(quantity.magnitude, Decimal)


def test_ohms_law_has_the_right_units():
    heat = as_quantity(read_notation("100 V")) ** 2 / as_quantity(read_notation("10k"))
    assert heat.to("watt").magnitude == 1


def test_there_is_one_registry():
    assert registry() is registry()


def test_only_known_units_are_converted():
    assert convert(Decimal("0.047"), "microfarad", "nanofarad") == 47
    with pytest.raises(UnknownUnit, match="is not a unit used here"):
        convert(Decimal(1), "9**9**9", "ohm")
