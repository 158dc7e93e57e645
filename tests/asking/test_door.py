"""The door for other programs: every line is answered once, in order, whatever it holds."""

import io
import json

import pytest

from shop.asking import door
from shop.asking.door import LONGEST_LINE, answer, answer_line, serve
from shop.asking.refusals import CODES
from shop.asking.verb import Verb

GOOD = {"id": 7, "do": "read_notation", "text": "4K7"}


def said(line: str | bytes) -> dict:
    return json.loads(answer_line(line if isinstance(line, bytes) else line.encode()))


def through(text: bytes) -> list[dict]:
    target = io.BytesIO()
    serve(io.BytesIO(text), target)
    return [json.loads(line) for line in target.getvalue().splitlines()]


def test_lines_are_answered_in_their_order_with_their_ids():
    lines = [json.dumps({**GOOD, "id": name}) for name in (3, "b", None, [1, {"a": 2}], 1.5, True)]
    answers = through("\n".join(lines).encode())
    assert [one["id"] for one in answers] == [3, "b", None, [1, {"a": 2}], 1.5, True]
    assert all(one["ok"] for one in answers)


def test_a_refused_line_does_not_stop_the_next_one():
    answers = through(b'{"id": 1, "do": "nothing"}\nnot json\n\n' + json.dumps(GOOD).encode() + b"\r\n")
    assert [one["ok"] for one in answers] == [False, False, False, True]
    assert [one["error"]["code"] for one in answers[:3]] == ["unknown", "unreadable", "unreadable"]


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [
        ("", "unreadable", "Give one object a line."),
        ("null", "unreadable", "Give one JSON object a line."),
        ("[1, 2]", "unreadable", "The line is a list. Give one JSON object a line."),
        ('"4K7"', "unreadable", "The line is “4K7”. Give one JSON object a line."),
        ('{"id": 1, "do": "read_notation", "text": NaN}', "unreadable", "NaN is no number of JSON. Give a finite number."),
        ('{"id": 1, "do": "read_notation", "text": "4K7"', "unreadable", "Give one object a line."),
        (b'{"id": 1, "do": "\xff"}', "unreadable", "The line isn't UTF-8. Write it as JSON in UTF-8, one object a line."),
        ("[" * 50_000, "unreadable", "The line is nested too deep. Give one flat object a line."),
        ('{"id": 1}', "unreadable", "“do” is missing."),
        ('{"id": 1, "do": ["judge"]}', "unknown", "a list is nothing that can be asked."),
        ('{"id": 1, "do": "jugde"}', "unknown", "“jugde” is nothing that can be asked. Give “do” as one of read_notation,"),
        ('{"id": 1, "do": "read_notation"}', "unreadable", "“text” is missing. Give it as text, like '0.05 MFD 600 V'."),
        ('{"id": 1, "do": "read_notation", "text": 47}', "unreadable", "“text” is a number. Give it as text"),
        ('{"id": 1, "do": "read_notation", "text": "4K7", "kind": "mass"}', "unknown", "“kind” is “mass”, which isn't known."),
    ],
)
def test_what_is_no_question_is_answered_by_what_would_be_one(line, code, says):
    given = said(line)
    assert given["ok"] is False
    assert given["error"]["code"] == code
    assert says in given["error"]["message"]


def test_a_line_that_is_too_long_is_answered_once_and_the_next_one_read():
    long = b'{"id": 1, "text": "' + b"7" * (3 * LONGEST_LINE) + b'"}\n'
    answers = through(long + json.dumps(GOOD).encode())
    assert [one["ok"] for one in answers] == [False, True]
    assert answers[0]["error"]["code"] == "too_long"


def test_a_long_number_is_refused_without_reckoning_it():
    for number in ("9" * 100_000, "1e999999", "-1e-999999", "1e400", "1e4000000", '"+1e4004700"', '"-471e-30013000"'):
        given = said(f'{{"id": 1, "do": "preferred", "series": "E12", "value": {number}}}')
        assert given["error"]["code"] in ("out_of_range", "too_long"), given


def test_an_id_that_no_json_number_can_hold_still_gets_an_answer():
    assert said('{"id": 1e999, "do": "read_notation", "text": "4K7"}')["id"] is None
    assert said('{"id": "\\ud800", "do": "read_notation", "text": "4K7"}')["id"] == "\ud800"


def test_fields_that_nobody_asked_for_are_named():
    given = said(json.dumps({**GOOD, "tollerance": 5}))
    assert given["ok"] is True
    assert given["not_used"] == ["tollerance"]


def test_a_fault_of_the_program_is_answered_and_says_so(monkeypatch, capsys):
    def broken(question):
        raise ZeroDivisionError

    monkeypatch.setattr(door, "VERBS", {"break": Verb("break", "", "", {}, broken)})
    given = answer(b'{"id": 4, "do": "break"}')
    assert given == {"id": 4, "ok": False, "error": {"code": "unreadable", "message": door.UNEXPECTED}}
    printed = capsys.readouterr()
    assert "ZeroDivisionError" in printed.err
    assert printed.out == ""


def test_codes_are_the_documented_ones():
    assert CODES == ("unreadable", "ambiguous", "too_long", "out_of_range", "unknown")
