"""Loads the TOML and CSV tables that lie beside the code, once each."""

import csv
import tomllib
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def toml_table(package: str, name: str) -> dict[str, Any]:
    """The parsed TOML file `name` of `package`; numbers with a point come as Decimal. Callers must not change it."""
    return tomllib.loads(files(package).joinpath(name).read_text(encoding="utf-8"), parse_float=Decimal)


@cache
def csv_table(package: str, name: str) -> tuple[dict[str, str], ...]:
    """The rows of the CSV file `name` of `package`, every cell as text."""
    text = files(package).joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
