"""Capacitance as a shop likes it written: whatever the way, it is read back as the same value, and nothing else changes."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.components.notation import NotationError, read_notation, write_spec, write_value
from inventory.components.specs import Spec
from inventory.components.writing import FARADS, said_in
from shop.models import CapacitanceStyle

MANTISSAS = st.decimals(min_value="0.01", max_value="999.9", places=4)
FARADS_OF = st.builds(lambda mantissa, power: mantissa.scaleb(power).normalize(), MANTISSAS, st.integers(-12, -6))
WAYS = st.sampled_from(FARADS)


def test_every_way_that_a_shop_may_choose_is_written() -> None:
    assert set(FARADS) == set(CapacitanceStyle.values)


@pytest.mark.parametrize(
    ("value", "modern", "micro", "old"),
    [
        ("4.7E-8", "47 nF", "0.047 µF", "0.047 MFD"),
        ("1E-9", "1 nF", "0.001 µF", "0.001 MFD"),
        ("9.9E-10", "990 pF", "990 pF", "990 MMFD"),
        ("1E-6", "1 µF", "1 µF", "1 MFD"),
        ("1E-7", "100 nF", "0.1 µF", "0.1 MFD"),
        ("2.2E-12", "2.2 pF", "2.2 pF", "2.2 MMFD"),
        ("0.01", "10000 µF", "10000 µF", "10000 MFD"),
        ("0", "0 pF", "0 pF", "0 MMFD"),
    ],
)
def test_the_three_ways(value: str, modern: str, micro: str, old: str) -> None:
    """Prefixes by the SI brochure (BIPM, table 7); MFD and MMFD as American sheets to the 1950s: common practice, no source."""
    written = [write_value(Decimal(value), "capacitance", farads=way) for way in ("modern", "micro", "old")]
    assert written == [modern, micro, old]


@given(FARADS_OF, WAYS, st.sampled_from(["capacitance", None]))
def test_what_is_written_is_read_back(value: Decimal, way: str, kind: str | None) -> None:
    assert read_notation(write_value(value, "capacitance", farads=way), kind).value == value


@given(FARADS_OF, FARADS_OF, WAYS, st.sampled_from([None, Decimal(400)]))
def test_a_whole_marking_is_read_back(one: Decimal, other: Decimal, way: str, volts: Decimal | None) -> None:
    spec = Spec("capacitance", one, volts=volts, sections=(one, other))
    read = read_notation(write_spec(spec, farads=way), "capacitance")
    assert (read.sections, read.volts) == ((one, other), volts)


@given(FARADS_OF, WAYS, WAYS)
def test_a_sentence_keeps_its_values(value: Decimal, way: str, again: str) -> None:
    sentence = said_in(way, f"It reads {write_value(value, 'capacitance')}; look again at 250 V.")
    assert sentence.endswith("; look again at 250 V.")
    written = sentence.removeprefix("It reads ").split(";")[0]
    assert read_notation(written, "capacitance").value == value
    assert written == write_value(value, "capacitance", farads=way)


@pytest.mark.parametrize("value", ["470000", "0.25", "100"])
@pytest.mark.parametrize("kind", ["resistance", "inductance", "voltage", "current", "frequency", "power"])
def test_other_quantities_are_written_as_ever(kind: str, value: str) -> None:
    usual = write_value(Decimal(value), kind)
    assert {write_value(Decimal(value), kind, farads=way) for way in FARADS} == {usual}


class TestSentences:
    def test_each_value_finds_its_own_unit(self) -> None:
        sentence = "It reads 0.09 µF, 80 % above the 0.05 µF called for; 900 pF to 8+8 µF is allowed."
        assert said_in("modern", sentence) == "It reads 90 nF, 80 % above the 50 nF called for; 900 pF to 8+8 µF is allowed."
        assert (
            said_in("old", sentence) == "It reads 0.09 MFD, 80 % above the 0.05 MFD called for; 900 MMFD to 8+8 MFD is allowed."
        )
        assert said_in("micro", sentence) == sentence

    @pytest.mark.parametrize("way", FARADS)
    def test_what_somebody_typed_stays(self, way: str) -> None:
        typed = "'0.05 µF' can't be it; “0.05 µF 600 V” and 1,500 µF, 103, C1 .05 µF; 47000 Ω, 10 H"
        assert said_in(way, typed) == typed

    def test_a_number_that_shares_a_unit_keeps_it(self) -> None:
        assert said_in("modern", "Take 0.05 or 0.1 µF.") == "Take 0.05 or 0.1 µF."
        assert said_in("old", "Take 0.05 or 0.1 µF.") == "Take 0.05 or 0.1 MFD."

    @given(st.text(max_size=60), WAYS)
    def test_any_text_is_taken(self, text: str, way: str) -> None:
        said = said_in(way, text)
        if not re.search("µF|pF", text):
            assert said == text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.05 MFD", "5E-8"),
        ("0.05MFD", "5E-8"),
        (".05 mfd", "5E-8"),
        ("50 MMFD", "5E-11"),
        ("250 mmfd", "2.5E-10"),
        ("8+8 MFD", "8E-6"),
    ],
)
def test_the_old_words_are_read_without_asking(text: str, value: str) -> None:
    """MFD is a millionth and MMFD a millionth of that: common practice, no source."""
    assert read_notation(text, "capacitance").value == Decimal(value)


@pytest.mark.parametrize("text", ["0.05 mF", "50 m"])
def test_a_lone_m_is_asked(text: str) -> None:
    with pytest.raises(NotationError) as asked:
        read_notation(text, "capacitance")
    assert asked.value.code == "ambiguous"
