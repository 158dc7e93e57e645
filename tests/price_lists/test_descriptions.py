"""What a supplier's words say of a part. The makers' ways of writing are invented, the values and types are real."""

import pytest

from inventory.components.notation import write_spec
from inventory.price_lists.descriptions import read_description


@pytest.mark.parametrize(
    ("text", "kind", "shown", "made_of"),
    [
        ("Film capacitor 0.047uF 630VDC 10% axial", "capacitance", "0.047 µF 630 V ±10 %", "film"),
        ("Electrolytic cap 22µF 450V 85°C", "capacitance", "22 µF 450 V", "electrolytic"),
        ("Silver mica 100pF 500 V", "capacitance", "100 pF 500 V", "mica"),
        ("Metal film resistor 220k 1/2W 5%", "resistance", "220 kΩ 0.5 W ±5 %", ""),
        ("Resistor 4k7 1 W", "resistance", "4.7 kΩ 1 W", ""),
        ("Choke 10 mH 50 mA", "inductance", "10 mH", ""),
    ],
)
def test_a_value_with_its_ratings(text: str, kind: str, shown: str, made_of: str) -> None:
    said = read_description(text)
    assert said.spec is not None
    assert said.spec.kind == kind
    assert said.spec.value > 0
    assert write_spec(said.spec).split()[0] == shown.split()[0]
    assert said.types == ()
    if made_of:
        assert said.made_of == made_of


def test_a_type() -> None:
    assert "EL84" in read_description("Output valve EL84, new old stock").types
    assert "6V6GT" in read_description("6V6-GT beam power").types
    assert read_description("Knob, walnut").types == ()
    assert read_description("Knob, walnut").spec is None


def test_no_text_is_too_odd() -> None:
    for text in ("", "999999999999999999k", "1/0W 5k", "٣k", "k" * 200, "0 µF"):
        read_description(text)
