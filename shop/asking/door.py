"""Lines in, lines out: one JSON object each, in the same order. Whatever a line holds, it gets exactly one answer."""

import json
import traceback
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, BinaryIO

from shop.asking.fields import LONGEST_NUMBER, Question, shown
from shop.asking.refusals import Refusal, as_refusal
from shop.asking.verbs import VERBS

LONGEST_LINE = 200_000
UNEXPECTED = "This line met a fault of the program, not of yours: nothing was worked out. Please report it with the line."


def answer_line(line: bytes) -> bytes:
    """The answer to one line, without its end."""
    return written(answer(line))


def answer(line: bytes) -> dict[str, Any]:
    """The answer to one line as a dict. A fault of the program itself is answered too: later lines must not wait for it."""
    try:
        fields = read(line)
    except Refusal as refused:
        return _refused(None, refused)
    try:
        return _answered(fields)
    except Exception:
        # other programs wait for the lines behind this one; whoever mends it needs the trace
        traceback.print_exc()
        return _refused(fields.get("id"), Refusal("unreadable", UNEXPECTED))


def _answered(fields: dict[str, Any]) -> dict[str, Any]:
    question = Question(fields)
    try:
        result = ask(question)
    except Refusal as refused:
        return _refused(fields.get("id"), refused)
    said = {"id": fields.get("id"), "ok": True, "result": result}
    if question.strays:
        said["not_used"] = question.strays
    return said


def ask(question: Question) -> dict[str, Any]:
    """The result of one question; Refusal where there is none."""
    name = question.raw("do")
    if not isinstance(name, str) or name not in VERBS:
        what = "“do” is missing" if name is None else f"{shown(name)} is nothing that can be asked"
        raise Refusal("unreadable" if name is None else "unknown", f"{what}. Give “do” as one of {', '.join(VERBS)}.")
    try:
        return VERBS[name].answer(question)
    except Refusal:
        raise
    except (ValueError, KeyError) as error:
        raise as_refusal(error) from error


def _refused(name: Any, refused: Refusal) -> dict[str, Any]:
    error: dict[str, Any] = {"code": refused.code, "message": refused.message}
    if refused.readings:
        error["readings"] = list(refused.readings)
    return {"id": name, "ok": False, "error": error}


def _whole(text: str) -> int | Decimal:
    """A long whole number stays a Decimal: Python refuses to make an int of thousands of figures, and takes long over fewer."""
    return int(text) if len(text) <= LONGEST_NUMBER else Decimal(text)


def _no_number(text: str) -> Any:
    raise Refusal("unreadable", f"{text} is no number of JSON. Give a finite number.")


_DECODER = json.JSONDecoder(parse_float=Decimal, parse_int=_whole, parse_constant=_no_number)


def read(line: bytes) -> dict[str, Any]:
    """The JSON object of a line; Refusal when it is none or too long."""
    if len(line) > LONGEST_LINE:
        raise Refusal("too_long", f"The line is longer than {LONGEST_LINE} bytes. Ask for less at once.")
    try:
        fields = _DECODER.decode(line.decode("utf-8"))
    except UnicodeDecodeError:
        raise Refusal("unreadable", "The line isn't UTF-8. Write it as JSON in UTF-8, one object a line.") from None
    except RecursionError:
        raise Refusal("unreadable", "The line is nested too deep. Give one flat object a line.") from None
    except json.JSONDecodeError as error:
        text = f"The line isn't JSON ({error.msg} at character {error.pos + 1}). Give one object a line."
        raise Refusal("unreadable", text) from None
    if not isinstance(fields, dict):
        raise Refusal("unreadable", f"The line is {shown(fields)}. Give one JSON object a line.")
    return fields


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return float(value)
    raise TypeError(f"{type(value)} has no place in an answer")


def written(answer_given: dict[str, Any]) -> bytes:
    """An answer as one line of JSON in UTF-8. Half a surrogate pair, which UTF-8 can't hold, is written as an escape."""
    try:
        return json.dumps(answer_given, ensure_ascii=False, allow_nan=False, default=_plain).encode("utf-8")
    except UnicodeEncodeError:
        return json.dumps(answer_given, allow_nan=False, default=_plain).encode("ascii")
    except ValueError:
        # an id too large for a float comes back as nothing rather than as Infinity, which is no JSON
        return written({**answer_given, "id": None}) if answer_given["id"] is not None else b'{"id": null, "ok": false}'


def lines(source: BinaryIO) -> Iterator[bytes]:
    """The lines of a stream without their ends. Of a line that is too long only the beginning is kept in memory."""
    while line := source.readline(LONGEST_LINE + 2):
        kept = line
        while line and not line.endswith(b"\n"):
            line = source.readline(LONGEST_LINE + 2)
        yield kept.rstrip(b"\r\n") if len(kept) <= LONGEST_LINE + 1 else kept


def serve(source: BinaryIO, target: BinaryIO) -> None:
    """Answer every line of `source` on `target`, each at once, so that another program may wait for it."""
    for line in lines(source):
        target.write(answer_line(line) + b"\n")
        target.flush()
