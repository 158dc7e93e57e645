"""Typed readers of environment variables: a bad value is refused by name, never guessed at."""

import os
from pathlib import Path


class BadEnvironment(SystemExit):
    """An environment variable holds something we can't use; the text names it and what would be accepted."""


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default)


def flag(name: str, default: bool) -> bool:
    value = os.environ.get(name)
    if value is None or value == "":
        return default
    if value not in ("True", "False"):
        raise BadEnvironment(f"Unexpected value {name}={value}, use 'True' or 'False'.")
    return value == "True"


def number(name: str, default: int, low: int, high: int) -> int:
    value = os.environ.get(name)
    if value is None or value == "":
        return default
    if not value.isdigit() or not low <= int(value) <= high:
        raise BadEnvironment(f"Unexpected value {name}={value}, use a whole number from {low} to {high}.")
    return int(value)


def names(name: str, default: list[str]) -> list[str]:
    value = os.environ.get(name)
    if not value:
        return default
    return [part.strip() for part in value.split(",") if part.strip()]


def folder(name: str, default: Path) -> Path:
    value = os.environ.get(name)
    return Path(value).expanduser().resolve() if value else default
