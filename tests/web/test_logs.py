"""The log: a JSON object a line, in UTC, without tokens, and nobody writes a line of their own into it."""

import json
import logging
import stat
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Any

import pytest
from django.test import RequestFactory

from shop.web.logs import OneLine, keep_in, without_tokens

TOKEN = "Q" * 43


def line_of(text: str, *values: object, **more: Any) -> str:
    record = logging.LogRecord("django.request", logging.WARNING, __file__, 1, text, values, more.pop("exc_info", None))
    record.created = 1_772_443_800.25
    record.__dict__.update(more)
    return OneLine().format(record)


def test_a_record_is_one_line_with_who_where_and_when() -> None:
    """RFC 3339 gives the form of the moment."""
    request = RequestFactory().get("/jobs/")
    said = json.loads(line_of("Not Found: %s", "/jobs/", request=request))
    assert said == {
        "at": "2026-03-02T09:30:00.250+00:00",
        "level": "WARNING",
        "from": "django.request",
        "text": "Not Found: /jobs/",
        "method": "GET",
        "address": "127.0.0.1",
        "person": None,
    }


def test_nobody_writes_a_line_of_their_own() -> None:
    odd = '/x\r\n{"level": "ERROR"}\u2028\u0085\x1b[2J'
    line = line_of("Not Found: %s", odd)
    assert len(line.splitlines()) == 1
    assert json.loads(line)["text"] == f"Not Found: {odd}"
    assert not any(sign in line for sign in "\x1b\u2028\u0085")


def test_tokens_are_cut_out_of_texts_and_traces() -> None:
    assert (
        without_tokens(f"/answer/{TOKEN}/photos/3/ and /calendar/{TOKEN}/days.ics")
        == "/answer/…/photos/3/ and /calendar/…/days.ics"
    )
    try:
        raise RuntimeError(f"broke at /answer/{TOKEN}/")
    except RuntimeError as error:
        line = line_of("Internal Server Error: %s", f"/answer/{TOKEN}/", exc_info=(RuntimeError, error, error.__traceback__))
    assert TOKEN not in line
    assert "RuntimeError" in json.loads(line)["trace"]


def test_the_file_is_its_owners_and_is_kept_from_growing(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    before = {name: list(logging.getLogger(name).handlers) for name in ("django", "shop")}
    try:
        keep_in(tmp_path)
        (handler,) = [one for one in logging.getLogger("shop").handlers if one not in before["shop"]]
        assert isinstance(handler, RotatingFileHandler)
        logging.getLogger("shop").warning("a word")
        handler.close()
        assert (handler.maxBytes, handler.backupCount) == (2_000_000, 5)
    finally:
        for name, handlers in before.items():
            logging.getLogger(name).handlers = handlers
    path = tmp_path / "log" / "shop.log"
    assert json.loads(path.read_text())["text"] == "a word"
    assert (stat.S_IMODE(path.stat().st_mode), stat.S_IMODE(path.parent.stat().st_mode)) == (0o600, 0o700)
    for process, name in ((1, "shop.log"), (3, "shop-3.log")):
        keep_in(tmp_path, process)
        for one in logging.getLogger("shop").handlers:
            one.close()
        assert (tmp_path / "log" / name).exists(), "two processes never set one file aside"
    for name, handlers in before.items():
        logging.getLogger(name).handlers = handlers
    (tmp_path / "file").write_text("")
    keep_in(tmp_path / "file")
    assert "The log can't be kept in" in caplog.text
