"""Reads files as bytes by a layout: what was taken and what was rejected."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from inventory.price_lists.layout import CSV, XLSX, Column, Layout, Line
from inventory.price_lists.reading import Rejected, read_file, rejected_lines, taken_lines

COLUMNS = (Column(0, "code"), Column(1, "text"), Column(2, "price"))
HEADINGS = ("Code", "Description", "Price")


def a_layout(**more: Any) -> Layout:
    return Layout(**{"kind": CSV, "currency": "GBP", "columns": COLUMNS, "headings": HEADINGS, **more})


def read(content: bytes, digits: int = 2, **more: Any) -> tuple[list[Line], list[Rejected]]:
    layout = a_layout(**more)
    with TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / f"list.{XLSX if layout.kind == XLSX else CSV}"
        path.write_bytes(content)
        read_file(path, layout, digits, folder / "lines", folder / "rejects")
        return list(taken_lines(folder / "lines")), list(rejected_lines(folder / "rejects"))


def faults(content: bytes, **more: Any) -> list[tuple[int, str]]:
    return [(one.number, one.reason) for one in read(content, **more)[1]]


def codes(content: bytes, **more: Any) -> list[str]:
    return [one.code for one in read(content, **more)[0]]
