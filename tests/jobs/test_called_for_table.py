"""Tables of positions, read line by line: delimiters, decimal signs, columns, roles, values. No database."""

import csv
import io
from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from inventory.components.notation import read_notation
from inventory.components.roles import ROLES
from jobs.queries.called_for_merge import Row, merge_lines, merged
from jobs.queries.called_for_table import (
    COLUMNS,
    DELIMITERS,
    ENCODINGS,
    LONGEST_LINE,
    MOST_LINES,
    Layout,
    TableError,
    TableLine,
    check_value,
    decode,
    guess_layout,
    read_role,
    read_table,
)

WHOLE = ("designator", "role", "called", "note")


def lines(text: str, layout: Layout | None = None, answers: dict[int, str] | None = None) -> list[TableLine]:
    return read_table(text, layout or guess_layout(text), answers)


def good(text: str) -> list[tuple[str, str, str, str]]:
    read = lines(text)
    assert [line.problem for line in read] == [""] * len(read)
    return [(line.designator, line.role, line.called, line.note) for line in read]


def test_a_pasted_table_with_a_heading() -> None:
    text = "Ref\tFunction\tValue\tRemarks\nC1\treservoir\t16 µF 450 V\tcan\nr5\tplate load\t220k\t\nV2\tvalve\tEF41\t\n"
    assert good(text) == [
        ("C1", "reservoir", "16 µF 450 V", "can"),
        ("R5", "plate_load", "220k", ""),
        ("V2", "valve", "EF41", ""),
    ]


def test_columns_in_another_order_are_found_by_their_names() -> None:
    text = "Called for;Note;Position;Role\n0.05 MFD 600V;wax;C12;coupling\n"
    assert guess_layout(text) == Layout("semicolon", ("called", "note", "designator", "role"), True)
    assert good(text) == [("C12", "coupling", "0.05 MFD 600V", "wax")]


def test_without_a_heading_columns_go_by_position_and_roles_by_what_they_say() -> None:
    assert guess_layout("C1\t.05 600V\tcoupling\nR1\t4k7\tcathode\n") == Layout("tab", ("designator", "called", "role"), False)
    assert guess_layout("C1\t.05 600V\nR1\t4k7\n") == Layout("tab", ("designator", "called"), False)
    assert guess_layout("C1;coupling;.05;old\nR1;cathode;4k7;\n") == Layout("semicolon", WHOLE, False)


def test_a_decimal_comma_is_read_where_columns_are_parted_otherwise() -> None:
    assert good("C2;coupling;0,05 µF 600 V;\nR1;cathode;1,5 kohm;\n") == [
        ("C2", "coupling", "0,05 µF 600 V", ""),
        ("R1", "cathode_resistor", "1,5 kohm", ""),
    ]
    assert good('C2,coupling,"0,05 µF 600 V",\nR1,cathode,1k5,\n')[0] == ("C2", "coupling", "0,05 µF 600 V", "")


@pytest.mark.parametrize("columns", [("designator", "role", "called"), WHOLE])
def test_a_decimal_comma_that_parts_columns_is_told_and_the_good_lines_stay(columns: tuple[str, ...]) -> None:
    read = lines("C1,coupling,0,05 µF 600 V\nC2,coupling,.01 600 V\n", Layout("comma", columns, False))
    assert read[0].problem == (
        "A decimal comma seems to part the value in two. "
        "Write a point, put the value in quotation marks, or part the columns by semicolons."
    )
    assert (read[1].problem, read[1].called) == ("", ".01 600 V")


def test_a_line_with_too_many_cells_is_told() -> None:
    read = lines("C1;coupling;.05;old;more\n", Layout("semicolon", WHOLE, False))
    assert read[0].problem == "The line has 5 cells where 4 columns are named. Take the extra ones out, or name their columns."


def test_a_line_without_a_position_is_told_by_its_number() -> None:
    read = lines("C1;coupling;.05\n\n;bypass;.1\n")
    assert [(line.number, line.problem) for line in read] == [
        (1, ""),
        (3, "The line names no position. Write its designator, such as C12."),
    ]


def test_a_table_without_a_position_column_says_so() -> None:
    read = lines("C1;.05\n", Layout("semicolon", ("called", "note"), False))
    assert read[0].problem == "No column is named as the position. Say above which one it is."


def test_a_role_that_nobody_knows_is_told() -> None:
    read = lines("C1;flux former;.05\n", Layout("semicolon", ("designator", "role", "called"), False))
    assert read[0].problem == (
        "“flux former” is no role this shop knows. Use one of the roles in the list, or leave the cell empty."
    )


def test_a_designator_named_twice_is_told_with_the_first_line() -> None:
    read = lines("C1;.05\nc1;.1\n")
    assert [line.problem for line in read] == ["", "C1 stands on line 1 already; a designator names one position."]


def test_a_doubtful_value_offers_its_readings_and_takes_the_chosen_one() -> None:
    text, layout = "C3;bypass;50\nC4;bypass;.1\n", Layout("semicolon", ("designator", "role", "called"), False)
    doubtful = lines(text, layout)[0]
    assert (doubtful.readings, doubtful.may_keep) == (("50 pF", "50 µF"), False)
    assert doubtful.problem.startswith("'50' can be read in 2 ways")
    settled = lines(text, layout, {1: "50 µF"})
    assert [(line.called, line.problem) for line in settled] == [("50 µF", ""), (".1", "")]
    assert lines(text, layout, {1: "70 µF"})[0].problem == doubtful.problem
    assert lines(text, layout, {1: "keep"})[0].problem == doubtful.problem


def test_what_is_no_quantity_may_be_kept_as_it_is_written() -> None:
    text, layout = "C3;bypass;see note\n", Layout("semicolon", ("designator", "role", "called"), False)
    refused = lines(text, layout)[0]
    assert (bool(refused.problem), refused.may_keep, refused.readings) == (True, True, ())
    assert lines(text, layout, {1: "keep"})[0].problem == ""


def test_a_value_out_of_all_range_is_not_kept() -> None:
    check = check_value("C1", "coupling", "4700 F")
    assert check.problem
    assert not check.may_keep


def test_values_without_a_role_are_read_by_the_designators_letter() -> None:
    assert check_value("C7", "other", "50").readings == ("50 pF", "50 µF")
    assert check_value("R7", "other", "4k7").problem == ""
    assert check_value("X7", "other", "anything at all").problem == ""
    assert check_value("V1", "valve", "anything at all").problem == ""


def test_a_winding_is_called_for_by_its_resistance() -> None:
    assert check_value("T1", "output_transformer", "450 ohm").problem == ""


@pytest.mark.parametrize("field", ["designator", "called", "note"])
def test_a_cell_longer_than_the_list_takes_is_told(field: str) -> None:
    cells = {"designator": "C1", "called": "", "note": ""} | {field: "X" * 161}
    text = ";".join(cells.values())
    problem = lines(text, Layout("semicolon", tuple(cells), False))[0].problem
    assert problem.startswith(f"“{COLUMNS[field]}” takes ")


def test_an_inch_mark_spoils_its_own_line_only() -> None:
    text = 'C1;coupling;.05 600V;1/2" long\nC2;coupling;.01 600V;plain\n'
    assert good(text)[1] == ("C2", "coupling", ".01 600V", "plain")
    assert good(text)[0][3] == '1/2" long'


def test_a_list_has_an_end() -> None:
    read = lines("".join(f"C{number}\n" for number in range(MOST_LINES + 5)))
    assert len(read) == MOST_LINES + 1
    assert read[-1].problem == f"A list has {MOST_LINES} lines at most; what follows is left out."
    assert lines("x" * (LONGEST_LINE + 1))[0].problem.startswith("The line is longer than")


@pytest.mark.parametrize("code", sorted(ROLES))
def test_every_role_is_read_by_its_code_and_by_its_label(code: str) -> None:
    assert read_role(code) == code
    assert read_role(ROLES[code].label.upper()) == code


def test_an_export_in_any_usual_encoding_is_read() -> None:
    text = "Pos;Role;Value\nC1;coupling;0,05 µF\nR1;cathode;¼ W größe\n"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1"):
        read, _ = decode(text.encode(encoding))
        assert read == text, encoding


def test_the_persons_word_decides_on_the_encoding() -> None:
    content = "C1;coupling;.05;Łódź\n".encode("cp1250")
    assert decode(content, "cp1250") == ("C1;coupling;.05;Łódź\n", "cp1250")
    with pytest.raises(TableError) as refused:
        decode(content, "utf-8-sig")
    assert str(refused.value) == (
        "The file's letters can't be read that way. Save it as CSV in UTF-8, or copy the cells and paste them."
    )


def test_the_ohm_sign_survives_utf8_and_utf16() -> None:
    for encoding in ("utf-8", "utf-16"):
        assert "470 kΩ" in decode("R1;plate load;470 kΩ\nC1;coupling;0.1 µF\n".encode(encoding))[0]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"PK\x03\x04rest", "That is a spreadsheet's own file. Save the sheet as CSV, or copy its cells and paste them."),
        (b"C1\x00;\x00coupling", "That file holds no text. Save the table as CSV, or copy its cells and paste them."),
    ],
)
def test_what_is_no_text_is_refused(content: bytes, message: str) -> None:
    with pytest.raises(TableError) as refused:
        decode(content)
    assert str(refused.value) == message


def test_a_table_written_by_the_standard_library_is_read_back() -> None:
    """Reference: Python's own csv writer, after RFC 4180, for each delimiter."""
    rows = [["C1", "coupling", "0,05 µF 600 V", 'a; "wax" one, old'], ["R2", "grid leak", "1 M", ""]]
    for name, mark in DELIMITERS.items():
        out = io.StringIO()
        csv.writer(out, delimiter=mark).writerows(rows)
        read = read_table(out.getvalue(), Layout(name, WHOLE, False))
        assert [[line.designator, line.called, line.note] for line in read] == [[row[0], row[2], row[3]] for row in rows], name


texts = st.text(alphabet=st.one_of(st.sampled_from('\t;,"\n\r 0123456789CRVkµ.,-'), st.characters()), max_size=300)
layouts = st.builds(
    Layout,
    st.sampled_from(sorted(DELIMITERS)),
    st.lists(st.sampled_from(sorted(COLUMNS)), min_size=1, max_size=5).map(tuple),
    st.booleans(),
)


@given(texts)
@example('"')
@example(";;;\n\n,,,")
@example("C1;" + "9" * 400)
@example("\x00\x85\u2028C1")
def test_no_text_raises(text: str) -> None:
    for line in lines(text):
        assert line.problem or line.designator


@given(texts, layouts, st.dictionaries(st.integers(1, 9), st.text(max_size=9)))
def test_no_layout_raises(text: str, layout: Layout, answers: dict[int, str]) -> None:
    merge = merge_lines(read_table(text, layout, answers), [Row("C1", "coupling", ".05")], layout)
    names = [row.designator for row in merged([Row("C1", "coupling", ".05")], merge)]
    assert len(names) == len(set(names))
    assert names[0] == "C1"


@given(st.binary(max_size=200))
def test_no_file_raises_but_in_words(content: bytes) -> None:
    with suppress(TableError):
        text, encoding = decode(content)
        assert encoding in ENCODINGS
        assert "\x00" not in text


@given(st.sampled_from(["coupling", "reservoir", "plate_load", "cathode_resistor", "choke"]), texts)
def test_a_reading_that_is_offered_is_never_doubtful_again(role: str, called: str) -> None:
    for reading in check_value("X1", role, called).readings:
        assert check_value("X1", role, reading).problem == ""
        assert read_notation(reading)


STANDING = [Row("C1", "coupling", ".05", "old"), Row("R1", "cathode_resistor", "4k7"), Row("V1", "valve", "EF41")]


def test_a_merge_says_what_each_line_does() -> None:
    text = "R1;cathode;5k6;\nC1;coupling;.05;old\nC9;bypass;.1;\nC8;flux former;.1;\n"
    layout = Layout("semicolon", WHOLE, False)
    merge = merge_lines(read_table(text, layout), STANDING, layout)
    assert [one.state for one in merge] == ["changed", "same", "added", "refused"]
    assert merged(STANDING, merge) == [
        Row("C1", "coupling", ".05", "old"),
        Row("R1", "cathode_resistor", "5k6"),
        Row("V1", "valve", "EF41"),
        Row("C9", "bypass", ".1"),
    ]


def test_what_a_table_does_not_tell_stays_as_it_stands() -> None:
    layout = Layout("semicolon", ("designator", "called"), False)
    merge = merge_lines(read_table("C1;.1\n", layout), STANDING, layout)
    assert merge[0].row == Row("C1", "coupling", ".1", "old")


def test_a_value_that_was_kept_as_written_is_not_asked_about_again() -> None:
    standing = [Row("C1", "coupling", "see sheet 2")]
    layout = Layout("semicolon", ("designator", "role", "called"), False)
    assert merge_lines(read_table("C1;coupling;see sheet 2\n", layout), standing, layout)[0].state == "same"


def test_a_reading_is_taken_however_the_shop_writes_it() -> None:
    text, layout = "C1,103", Layout("comma", ("designator", "called"), header=False)
    for answer in ("0.01 µF", "10 nF", "0.01 MFD"):
        assert [line.called for line in read_table(text, layout, {1: answer})] == [answer]
    assert [line.problem != "" for line in read_table(text, layout, {1: "22 nF"})] == [True]
