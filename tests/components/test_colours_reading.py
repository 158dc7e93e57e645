"""Reading markings by colour: names in any writing, which way round, what is doubtful, what is refused in which words."""

import random
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.components.colours.faults import ColourError
from inventory.components.colours.names import colour_names, named
from inventory.components.colours.reading import read_colours, read_marking, series_of
from inventory.components.colours.schemes import scheme_named, scheme_names
from inventory.components.specs import Spec

D = Decimal


def refused(scheme: str, *colours: str | None) -> ColourError:
    with pytest.raises(ColourError) as caught:
        read_colours(scheme, colours)
    return caught.value


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Red", "red"),
        (" RED ", "red"),
        ("rd", "red"),
        ("gray", "grey"),
        ("Grey", "grey"),
        ("GY", "grey"),
        ("purple", "violet"),
        ("VT", "violet"),
        ("tq", "turquoise"),
        ("(none)", "none"),
        ("None", "none"),
        ("", "none"),
        (None, "none"),
        ("no  colour", "none"),
    ],
)
def test_a_colour_is_known_in_any_writing(written, name):
    assert named(written) == name


def test_four_bands_give_value_and_tolerance_and_say_why():
    marking = read_marking("iec60062", ["red", "violet", "gold", "gold"])
    assert marking.spec == Spec("resistance", D("2.7"), (D(-5), D(5)), text="red, violet, gold, gold")
    assert marking.why == "4 bands: red 2, violet 7, gold × 0.1, gold ±5 %."


def test_a_bare_fourth_band_is_no_band():
    assert read_colours("iec60062", ["brown", "black", "green", ""]) == read_colours("iec60062", ["brown", "black", "green"])
    assert (
        read_marking("iec60062", ["brown", "black", "green"]).why == "3 bands: brown 1, black 0, green × 100,000, no mark ±20 %."
    )


def test_a_sixth_band_is_the_temperature_coefficient():
    marking = read_marking("iec60062", ["BN", "BK", "BK", "RD", "BN", "RD"])
    assert (marking.spec.value, marking.spec.tolerance_percent, marking.temperature_ppm) == (D(10_000), (D(-1), D(1)), D(50))
    assert marking.why.endswith("brown ±1 %, red 50 ppm/K.")


def test_the_order_given_is_read_and_the_other_way_only_mentioned():
    marking = read_marking("iec60062", ["brown", "red", "black", "black", "brown"])
    assert marking.spec.value == 120
    assert marking.notes == (
        "From the other end it would read 10 kΩ ±1 %. Taken here as given, from left to right: measure if in doubt.",
    )


def test_an_order_that_says_nothing_names_the_other_way():
    fault = refused("iec60062", "gold", "gold", "violet", "red")
    assert fault.code == "unreadable"
    assert fault.message == (
        "First figure: gold says nothing here. Use black, brown, red, orange, yellow, green, blue, violet, grey, white. "
        "From the other end it reads red, violet, gold, gold: 2.7 Ω ±5 %."
    )
    assert fault.turned == ("red", "violet", "gold", "gold")


def test_five_bands_with_gold_before_the_last_may_bear_a_mark_of_reliability():
    marking = read_marking("iec60062", ["brown", "black", "red", "gold", "brown"])
    assert marking.spec.value == D("10.2")
    assert any("mark of reliability" in note for note in marking.notes)


def test_body_end_and_dot_take_what_is_bare_from_the_body():
    marking = read_marking("body_end_dot", ["red", "none", "none", "gold"])
    assert marking.spec == Spec("resistance", D(2200), (D(-5), D(5)), text="red, red, red, gold")
    assert marking.notes == (
        "The end has no colour of its own, so the body's red counts there.",
        "There is no dot to be seen, so the body's red counts there.",
    )


def test_an_end_in_the_body_colour_is_no_tolerance_mark():
    assert read_colours("body_end_dot", ["red", "green", "orange", "red"]).tolerance_percent == (D(-20), D(20))
    assert read_colours("body_end_dot", ["red", "green", "orange", "green"]).tolerance_percent == (D(-20), D(20))


def test_a_resistor_held_by_its_tolerance_end_is_told_so():
    fault = refused("body_end_dot", "red", "silver", "orange", "green")
    assert fault.turned == ("red", "green", "orange", "silver")
    assert fault.message.endswith("From the other end it reads red, green, orange, silver: 25 kΩ ±10 %.")


def test_two_figure_ends_can_be_read_both_ways():
    fault = refused("body_end_dot", "red", "green", "orange", "violet")
    assert (fault.code, [way.spec.value for way in fault.readings]) == ("ambiguous", [D(25_000), D(27_000)])
    assert fault.message == (
        "Both ends bear a figure's colour: 25 kΩ ±20 % by the green end, 27 kΩ ±20 % by the violet end. "
        "Name as the other end only gold, silver or none, or measure it."
    )
    assert [way.why for way in fault.readings] == [
        "if the green end is the second figure",
        "if the violet end is the second figure",
    ]


@pytest.mark.parametrize(
    ("colours", "value", "percent", "volts", "form"),
    [
        ("black green brown red yellow black", "51e-12", 4, 500, "AWS or JAN mica"),
        ("black blue grey red silver red", "6800e-12", 10, 300, "AWS or JAN mica"),
        ("white brown red red gold red", "1200e-12", 5, None, "EIA mica"),
        ("silver brown black brown silver orange", "0.01e-6", 10, None, "moulded paper in a mica's case"),
        ("brown black green green silver black", "105e-12", 10, 500, "old RMA mica, three figures"),
        ("red green black gold none brown", "2500e-12", 20, 1000, "old RMA mica, three figures"),
    ],
)
def test_the_upper_left_dot_tells_which_table_six_dots_follow(colours, value, percent, volts, form):
    marking = read_marking("mica_6_dot", colours.split())
    assert (marking.spec.value, marking.spec.volts, marking.form) == (D(value), volts, form)
    assert marking.spec.tolerance_percent == (-percent, percent)


def test_where_sources_differ_one_rule_is_kept_and_the_other_source_named():
    marking = read_marking("mica_6_dot", ["white", "brown", "red", "red", "blue", "red"])
    assert marking.spec.tolerance_percent == (D(-6), D(6))
    assert "(OD1647) prints a blue tolerance dot as ±2 %" in marking.notes[0]
    assert marking.characteristic == "C, ±200 ppm/K"


def test_three_dots_imply_500_volts_and_20_percent():
    marking = read_marking("mica_3_dot", ["red", "green", "black"])
    assert marking.spec == Spec("capacitance", D("25e-12"), (D(-20), D(20)), D(500), text="red, green, black")
    assert marking.why == "RMA, 3 dots: red 2, green 5, black × 1, no mark 500 V, no mark ±20 %."


def test_small_mica_values_begin_with_a_nought():
    assert read_colours("mica_3_dot", ["black", "green", "black"]).value == D("5e-12")


def test_one_voltage_band_counts_hundreds_two_count_tens_of_hundreds():
    assert read_colours("moulded_paper", ["brown", "black", "orange", "silver", "yellow"]).volts == 400
    marking = read_marking("moulded_paper", ["brown", "black", "orange", "silver", "brown", "green"])
    assert marking.spec.volts == 1500
    assert marking.why == "Moulded paper: brown 1, black 0, orange × 1,000, silver ±10 %, brown green 1500 V."


def test_what_is_refused_says_what_would_be_accepted():
    assert refused("iec60062", "purpel", "red", "red").message == (
        "“purpel” is no colour of the code. Use black, brown, red, orange, yellow, green, blue, violet, grey, white, "
        "gold, silver, pink, turquoise, or none for an absent one."
    )
    assert refused("iec60062", "red", "red").message == (
        "Named 2 of the colours, which is too few. Bands round a resistor: name 3 to 6 colours. "
        "Read from the end whose band is nearest to a wire. Gold and silver never come first."
    )
    assert refused("mica_3_dot", "red", "none", "black").message == (
        "Second figure: a dot is missing here. "
        "Name its colour: black, brown, red, orange, yellow, green, blue, violet, grey, white."
    )
    assert refused("iec60062", "black", "red", "red").message.startswith("First figure: black says nothing here")
    assert refused("mica_6_dot", "gold", "red", "red", "red", "red", "red").message.startswith(
        "Upper left: gold says nothing here."
    )


@pytest.mark.parametrize(
    ("scheme", "colours", "code"),
    [
        ("resistor", ["red"], "unknown"),
        ("iec60062", [], "unreadable"),
        ("iec60062", ["none"] * 6, "unreadable"),
        ("iec60062", ["black"] * 3, "unreadable"),
        ("iec60062", ["red"] * 7, "too_long"),
        ("iec60062", ["red"] * 100_000, "too_long"),
        ("iec60062", ["r" * 100_000], "too_long"),
        ("mica_3_dot", ["white", "white", "white"], "out_of_range"),
        ("mica_3_dot", ["black", "black", "black"], "unreadable"),
        ("iec60062", "red", "unreadable"),
    ],
)
def test_each_refusal_has_its_code(scheme, colours, code):
    with pytest.raises(ColourError) as caught:
        read_colours(scheme, colours)
    assert caught.value.code == code


def test_the_series_that_has_a_value():
    values = ("47", "5100", "4.99e3", "25000", "0", "0.33")
    assert [series_of(D(value)) for value in values] == ["E3", "E24", "E96", "", "", "E6"]


def answered(scheme: str, colours: list[str]) -> Spec | ColourError:
    try:
        return read_colours(scheme, colours)
    except ColourError as fault:
        return fault


@given(st.sampled_from(scheme_names()), st.lists(st.sampled_from((*colour_names(), "none")), max_size=7))
def test_whatever_colours_are_named_there_is_a_value_or_a_refusal(scheme, colours):
    answer = answered(scheme, colours)
    if isinstance(answer, ColourError):
        assert answer.message.endswith(".")
        assert bool(answer.readings) == (answer.code == "ambiguous")
    else:
        assert 0 < answer.value <= scheme_named(scheme).largest


def steps_of(work, most: int) -> int:
    """Lines of Python that the work runs; more than `most` fail at once. Counted, not timed: the same on any machine."""
    count = 0

    def trace(frame, event, argument):
        nonlocal count
        count += event == "line"
        assert count <= most
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


def test_nothing_else_escapes_and_every_answer_is_bounded():
    chance = random.Random(60062)
    words = (*colour_names(), "none", "", "GN", "gray", "x" * 5000, "\x00", "ß", "１", "red\n", "red" * 20)
    # Every table is loaded now: of colours, of series (25 kΩ is in none) and of how values are written.
    answered("iec60062", ["gold", "gold", "violet", "red"])
    series_of(D(25_000))
    for _ in range(2000):
        scheme = chance.choice((*scheme_names(), "iec", ""))
        colours = [chance.choice(words) for _ in range(chance.randrange(9))]
        steps_of(lambda scheme=scheme, colours=colours: answered(scheme, colours), 4000)
