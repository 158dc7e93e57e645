"""Programs that the self-test needs and pip can't bring: a browser, a database server, a PDF text reader, a circuit simulator."""

import os
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from shop.setup import cluster, debian

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
CHROMIUM_PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "C:/Program Files/Google/Chrome/Application/chrome.exe",
    "C:/Program Files/Chromium/Application/chrome.exe",
)


def find_chromium() -> str | None:
    """The variable CHROMIUM wins, right or wrong: whoever sets it means that one."""
    named = os.environ.get("CHROMIUM")
    if named:
        return named if shutil.which(named) else None
    found = (shutil.which(name) for name in CHROMIUM_NAMES)
    return next((path for path in found if path), next((place for place in CHROMIUM_PLACES if Path(place).exists()), None))


def find_pdftotext() -> str | None:
    return shutil.which("pdftotext")


def find_ngspice() -> str | None:
    return shutil.which("ngspice")


def find_server() -> str | None:
    places = cluster.binaries()
    return str(places[0]) if places else None


@dataclass(frozen=True)
class Program:
    name: str
    find: Callable[[], str | None]
    packages: tuple[str, ...]
    by_hand: str


PROGRAMS = (
    Program("Chromium", find_chromium, ("chromium", "fonts-liberation"), "install Chromium, or set CHROMIUM to its path"),
    Program("PostgreSQL's server programs", find_server, ("postgresql",), "install PostgreSQL, or put its bin folder on PATH"),
    Program("pdftotext", find_pdftotext, ("poppler-utils",), "install Poppler's command-line tools"),
    Program("ngspice", find_ngspice, ("ngspice",), "install ngspice, and put it on PATH"),
)


def get_missing() -> list[str]:
    """Bring what is missing where that is allowed; say in one line each what could not be had, and how to get it."""
    missing = [program for program in PROGRAMS if program.find() is None]
    if not missing:
        return []
    if debian.may_install():
        debian.install([package for program in missing for package in program.packages])
    return [_lament(program) for program in missing if program.find() is None]


def _lament(program: Program) -> str:
    if sys.platform.startswith("linux") and shutil.which("apt-get"):
        return f"{program.name} is missing. Run: sudo apt-get install {' '.join(program.packages)}"
    return f"{program.name} is missing: {program.by_hand}."
