"""The notation reader: what the trade writes, what is doubtful, what is refused, and that nothing else can happen."""

import time
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.components.notation import KINDS, NotationError, Spec, read_measured, read_notation, write_spec, write_value

D = Decimal
NUMBERS_AND_UNITS = st.text(alphabet="0123456789.,-+/±%@ kKmMuUµpnRrGgVvWwFfHhXY12ohegdcsΩω½", max_size=90)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("0.05 MFD 600 V", "capacitance", "5e-8"),
        (".05mf", "capacitance", "5e-8"),
        ("50 MMF", "capacitance", "5e-11"),
        ("250 mmfd", "capacitance", "2.5e-10"),
        ("50 µµF", "capacitance", "5e-11"),
        ("n47", "capacitance", "4.7e-10"),
        ("22n", "capacitance", "2.2e-8"),
        ("0.1uF", "capacitance", "1e-7"),
        ("0,047 μF", "capacitance", "4.7e-8"),
        ("8mfd 450v", "capacitance", "8e-6"),
        ("30-30 µF @ 200V", "capacitance", "3e-5"),
        ("40+20/450", "capacitance", "4e-5"),
        (".01 x 600", "capacitance", "1e-8"),
        (".05x400 V", "capacitance", "5e-8"),
        ("50x30x20 MFD 150V", "capacitance", "5e-5"),
        ("67½ V", "voltage", "67.5"),
        ("22 1/2 V", "voltage", "22.5"),
        ("8/16 mfd", "capacitance", "8e-6"),
        ("1/4 mfd", "capacitance", "2.5e-7"),
        (".001", "capacitance", "1e-9"),
        ("0.00025", "capacitance", "2.5e-10"),
        ("473K630V", "capacitance", "4.7e-8"),
        ("222J", "capacitance", "2.2e-9"),
        ("47pF NP0", "capacitance", "4.7e-11"),
        ("4N7", "capacitance", "4.7e-9"),
        ("10 H 60 mA", "inductance", "10"),
        ("1 000 000 Ω", "resistance", "1e6"),
        ("473K 1/2 W", "resistance", "473e3"),
        ("4K7", "resistance", "4700"),
        ("2M2", "resistance", "2.2e6"),
        ("R47", "resistance", "0.47"),
        ("4Ω7", "resistance", "4.7"),
        ("1,5 kΩ", "resistance", "1500"),
        ("1.5 kΩ", "resistance", "1500"),
        ("470K 1/2W 10%", "resistance", "470e3"),
        ("5 Meg", "resistance", "5e6"),
        ("1/4 meg", "resistance", "250e3"),
        ("½ meg", "resistance", "500e3"),
        ("1 1/2 meg", "resistance", "1.5e6"),
        ("25,000 ω", "resistance", "25000"),
        ("25 000 ohm", "resistance", "25000"),
        ("47k", "resistance", "47e3"),
        ("100R", "resistance", "100"),
        ("470 ohm", "resistance", "470"),
        ("450 µH", "inductance", "450e-6"),
        ("10 hy", "inductance", "10"),
        ("4µ7H", "inductance", "4.7e-6"),
        ("-12.5 V", "voltage", "-12.5"),
        ("1/2 W", "power", "0.5"),
        ("50 MA", "current", "0.05"),
        ("455 kc", "frequency", "455e3"),
        ("60 c/s", "frequency", "60"),
        ("60 c.p.s.", "frequency", "60"),
        ("1.2 Mc/s", "frequency", "1.2e6"),
        ("1000 kilocycles", "frequency", "1e6"),
        ("60 mils", "current", "0.06"),
        ("8 m.f.d. 450 v.w.", "capacitance", "8e-6"),
        ("4K7 \N{OHM SIGN}", "resistance", "4700"),
        ("47 k\N{OHM SIGN}", "resistance", "47e3"),
        ("10 k ω", "resistance", "10e3"),
        ("5 meg ohms", "resistance", "5e6"),
    ],
)
def test_what_the_trade_writes_is_read(text, kind, value):
    spec = read_notation(text)
    assert (spec.kind, spec.value) == (kind, D(value))
    assert spec.text == text


def test_ratings_tolerance_and_class_stand_beside_the_value():
    spec = read_notation("22n 630V X2 ±10 %")
    assert spec == Spec("capacitance", D("2.2e-8"), (D(-10), D(10)), D(630), None, "X2", (), "22n 630V X2 ±10 %")
    assert spec.unit == "F"
    assert read_notation("470K 1/2W 10%").watts == D("0.5")
    assert read_notation("X1/Y2 4n7 250V").safety_class == "X1/Y2"
    assert read_notation("4n7X2").safety_class == "X2"


@pytest.mark.parametrize("kind", [None, "capacitance"])
def test_a_unit_letter_is_never_taken_for_a_tolerance_letter(kind):
    assert read_notation("47n", kind) == Spec("capacitance", D("4.7e-8"), text="47n")
    assert read_notation("47n K", kind).tolerance_percent == (D(-10), D(10))
    assert read_notation("100p", kind).value == D("1e-10")


@pytest.mark.parametrize(
    ("text", "farads", "volts"),
    [
        *((".05-600", "5e-8", 600), (".05-600 V", "5e-8", 600), (".05 600", "5e-8", 600), ("0.05 MFD 600", "5e-8", 600)),
        *(("8 MFD-450V", "8e-6", 450), ("20/20/20 mfd 450", "2e-5", 450), ("25/25 450V", "2.5e-5", 450)),
        *(("100µ 6V3", "1e-4", "6.3"), ("10n X7R 50V", "1e-8", 50), ("4n7 X1/Y2 250V", "4.7e-9", 250)),
    ],
)
def test_the_working_voltage_stands_behind_a_capacitor_in_many_ways(text, farads, volts):
    # common practice, no source
    spec = read_notation(text)
    assert (spec.kind, spec.value, spec.volts) == ("capacitance", D(farads), D(volts))


def test_a_dash_before_what_may_be_a_voltage_is_asked_about():
    with pytest.raises(NotationError) as doubt:
        read_notation("8-450")
    assert [(len(one.spec.sections), one.spec.volts) for one in doubt.value.readings] == [(0, D(450)), (2, None)]


@pytest.mark.parametrize("text", ["6V6", "5Y3", "1N34", "2N107", "1N4007", "100-120 V"])
def test_the_type_of_a_valve_or_diode_is_no_value(text):
    with pytest.raises(NotationError) as refused:
        read_notation(text)
    assert refused.value.code == "unreadable"


def test_a_multi_section_can_keeps_its_sections_in_order():
    spec = read_notation("50-30-20 MFD 150 V")
    assert spec.sections == (D("5e-5"), D("3e-5"), D("2e-5"))
    assert spec.value == spec.sections[0]
    assert spec.volts == 150
    assert read_notation("32+32 µF 350/300 V").volts == 350
    assert read_notation("2 x 8 MFD").sections == (D("8e-6"), D("8e-6"))


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("4K7J", (-5, 5)),
        ("10nZ", (-20, 80)),
        ("0.1uF -20/+80%", (-20, 80)),
        ("50 µF +100 -10 %", (-10, 100)),
        ("47k +/- 5 %", (-5, 5)),
    ],
)
def test_tolerances_are_signed_percent(text, band):
    assert read_notation(text).tolerance_percent == band


def test_a_tolerance_in_picofarads_becomes_percent():
    assert read_notation("5 pF ±0.5 pF").tolerance_percent == (D(-10), D(10))


@pytest.mark.parametrize(
    ("text", "kind", "values"),
    [
        ("50", "capacitance", {"5e-11", "5e-5"}),
        ("103", "capacitance", {"1.03e-10", "1.03e-4", "1e-8"}),
        ("103", None, {"1.03e-10", "1.03e-4", "1e-8", "103", "1e4"}),
        ("8", None, {"8e-12", "8e-6", "8"}),
        ("104K", None, {"1e-7", "104e3"}),
        ("104M", None, {"1e-7", "104e3", "104e6"}),
        ("0.1 mF", None, {"1e-7", "1e-4"}),
        ("25.000 Ω", None, {"25", "25000"}),
        ("1,500 µF", None, {"1.5e-6", "1.5e-3"}),
        ("2 m", "resistance", {"2e6", "2e-3", "2e3"}),
        ("25/25", "capacitance", {"2.5e-5"}),
        ("30", "current", {"30", "0.03"}),
    ],
)
def test_a_doubtful_notation_is_asked_about_with_its_readings(text, kind, values):
    with pytest.raises(NotationError) as doubt:
        read_notation(text, kind)
    assert doubt.value.code == "ambiguous"
    assert {reading.spec.value for reading in doubt.value.readings} == {D(value) for value in values}
    assert all(reading.why for reading in doubt.value.readings)
    assert len(doubt.value.readings) > 1


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        ("500M", {500e6, 500e3}),
        ("50 M", {50e6, 50e3}),
        ("2M", {2e6, 2e3}),
        ("10 Mω", {10e6, 10e3}),
        ("10 mω", {10e6, 10e3, 10e-3}),
        ("1 Ω", {1, 1e6}),
        (".5 \N{OHM SIGN}", {0.5, 0.5e6}),
    ],
)
@pytest.mark.parametrize("kind", [None, "resistance"])
def test_a_figure_that_old_sheets_wrote_their_way_is_asked_about(text, ohms, kind):
    # source: radio.codegods.ca/tech on schematics of the 1930s: M for thousand, a lone ohm sign for megohm with a few makers
    with pytest.raises(NotationError) as doubt:
        read_notation(text, kind)
    assert {float(reading.spec.value) for reading in doubt.value.readings} == ohms


@pytest.mark.parametrize(
    ("text", "ohms"),
    [
        *(("1M", 1e6), ("10 M", 10e6), ("2.2M", 2.2e6), ("2M2", 2.2e6), (".5 M", 0.5e6), ("5 MΩ", 5e6)),
        *(("4.7 Ω", 4.7), ("470 Ω", 470), ("8 Ω", 8), ("1 ohm", 1), ("3 Ω 5 W", 3), ("1 ω", 1), ("5 meg", 5e6)),
    ],
)
def test_a_figure_that_no_old_sheet_wrote_is_not_asked_about(text, ohms):
    assert float(read_notation(text, "resistance").value) == ohms


def test_who_knows_the_sheet_is_asked_more_and_who_reads_a_meter_is_not_asked():
    with pytest.raises(NotationError) as doubt:
        read_notation("1M", old_american=True)
    assert [reading.spec.value for reading in doubt.value.readings] == [D("1e3"), D("1e6")]
    assert read_notation("2M2", old_american=True).value == D("2.2e6")
    assert read_notation("500M", old_american=False).value == D("500e6")
    assert read_notation("3 Ω", old_american=False).value == 3


@pytest.mark.parametrize(
    ("text", "kind", "code"),
    [
        ("", None, "unreadable"),
        ("   ", None, "unreadable"),
        ("5Y3", None, "unreadable"),
        ("470 V", "resistance", "unreadable"),
        ("470k 47k", None, "unreadable"),
        ("47", "weight", "unreadable"),
        ("10\N{SUPERSCRIPT TWO} ohm", None, "unreadable"),
        ("1e5", "resistance", "unreadable"),
        ("9**9**9", None, "unreadable"),
        ("-5 ohm", None, "out_of_range"),
        ("0 pF", None, "out_of_range"),
        ("47 F", None, "out_of_range"),
        ("0.1 µF 99999999 V", None, "out_of_range"),
        ("47k 5000 %", None, "out_of_range"),
        ("9" * 81, None, "too_long"),
    ],
)
def test_what_is_no_value_is_refused_with_a_code(text, kind, code):
    with pytest.raises(NotationError) as refused:
        read_notation(text, kind)
    assert refused.value.code == code
    assert refused.value.message
    assert refused.value.readings == ()


def _outcome(text: str, kind: str | None, old_american: bool | None) -> Spec | NotationError:
    try:
        return read_notation(text, kind, old_american=old_american)
    except NotationError as refused:
        return refused


def _never_surprises(text: str, kind: str | None, old_american: bool | None) -> None:
    started = time.perf_counter()
    outcome = _outcome(text, kind, old_american)
    assert time.perf_counter() - started < 1
    if isinstance(outcome, NotationError):
        assert outcome.code in ("unreadable", "ambiguous", "too_long", "out_of_range")
        assert (outcome.code == "ambiguous") == bool(outcome.readings)
    else:
        assert isinstance(outcome, Spec)


@settings(max_examples=400, deadline=None)
@given(st.text(max_size=200), st.sampled_from([None, *KINDS]), st.sampled_from([None, True, False]))
@example("9" * 100_000, None, False)
@example("1" + ",000" * 19, "resistance", False)
@example("+" * 80, "capacitance", True)
@example("1/2" * 26, None, True)
@example("\ud800", None, False)
def test_any_text_gives_a_value_or_a_notation_error(text, kind, old_american):
    _never_surprises(text, kind, old_american)


@settings(max_examples=800, deadline=None)
@given(NUMBERS_AND_UNITS, st.sampled_from([None, *KINDS]), st.sampled_from([None, True, False]))
def test_any_mix_of_figures_and_unit_letters_gives_a_value_or_a_notation_error(text, kind, old_american):
    _never_surprises(text, kind, old_american)


SIZES = {
    "resistance": (-2, 9),
    "capacitance": (-10, -3),
    "inductance": (-5, 2),
    "voltage": (-3, 4),
    "power": (-3, 3),
    "current": (-6, 1),
    "frequency": (2, 8),
}


@st.composite
def specs(draw: st.DrawFn) -> Spec:
    kind = draw(st.sampled_from(KINDS))
    value = D(draw(st.integers(1, 999999))).scaleb(draw(st.integers(*SIZES[kind])) - 5)
    if kind in ("voltage", "current") and draw(st.booleans()):
        value = -value
    volts = draw(st.none() | st.integers(3, 5000).map(D) | st.sampled_from([D("6.3"), D("0.5")])) if kind != "voltage" else None
    watts = draw(st.none() | st.sampled_from([D("0.25"), D("0.5"), D(2), D(50)])) if kind != "power" else None
    tolerance = draw(
        st.none() | st.sampled_from([(D(-10), D(10)), (D(-20), D(80)), (D("-0.5"), D("0.5")), (D(0), D(100)), (D(-10), D(0))])
    )
    sections: tuple[D, ...] = ()
    safety_class = None
    if kind == "capacitance":
        safety_class = draw(st.none() | st.sampled_from(["X2", "Y1", "X1/Y2"]))
        more = draw(st.lists(st.integers(1, 500), max_size=3))
        sections = (value, *(D(one) * D("1e-6") for one in more)) if more and value >= D("1e-9") else ()
    return Spec(kind, value, tolerance, volts, watts, safety_class, sections)


@settings(max_examples=400, deadline=None)
@given(specs(), st.sampled_from(["modern", "old"]))
@example(Spec("resistance", D(1)), "modern")
@example(Spec("resistance", D(0)), "modern")
@example(Spec("resistance", D(50_000_000)), "old")
def test_what_is_printed_is_read_back(spec, style):
    printed = write_spec(spec, style=style)
    expected = replace(spec, text=printed)
    assert read_notation(printed, spec.kind) == expected
    assert read_notation(printed) == expected
    assert read_measured(printed) == expected


@pytest.mark.parametrize(
    ("value", "kind", "modern", "old"),
    [
        (D("4.7e-8"), "capacitance", "0.047 µF", "0.047 MFD"),
        (4.7e-8, "capacitance", "0.047 µF", "0.047 MFD"),
        (D("250e-12"), "capacitance", "250 pF", "250 MMFD"),
        (D("1e-9"), "capacitance", "0.001 µF", "0.001 MFD"),
        (D(4700), "resistance", "4.7 kΩ", "4.7 K"),
        (D(470), "resistance", "470 Ω", "470 ohms"),
        (D(3), "resistance", "3 ohm", "3 ohms"),
        (D("2.2e6"), "resistance", "2.2 MΩ", "2.2 meg"),
        (D(0), "resistance", "0 Ω", "0 ohms"),
        (D("455e3"), "frequency", "455 kHz", "455 KC"),
        (0.1 + 0.2, "voltage", "0.3 V", "0.3 V"),
    ],
)
def test_values_are_written_as_radio_people_say_them(value, kind, modern, old):
    assert write_value(value, kind) == modern
    assert write_value(value, kind, style="old") == old
