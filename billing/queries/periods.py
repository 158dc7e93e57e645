"""Periods that books are kept by: a month, a quarter, a year, any two days."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Period:
    """From `first` to `last`, both days in it. `code` is `2026-03`, `2026-Q1`, `2026`, or blank for any two days."""

    first: date
    last: date
    code: str = ""
    name: str = ""

    @property
    def words(self) -> str:
        return self.name or f"{self.first.isoformat()} to {self.last.isoformat()}"

    @property
    def file_part(self) -> str:
        """What a file of it is called by."""
        return self.code or f"{self.first.isoformat()}-{self.last.isoformat()}"

    @property
    def query(self) -> str:
        return f"period={self.code}" if self.code else f"first={self.first.isoformat()}&last={self.last.isoformat()}"


def read_period(code: str) -> Period | None:
    """The period of a code, or None where it is none."""
    found = re.fullmatch(r"([1-9][0-9]{3})(?:-(?:Q([1-4])|(0[1-9]|1[0-2])))?", code, re.ASCII)
    if not found:
        return None
    year = int(found[1])
    if found[2]:
        quarter = int(found[2])
        return _months(year, quarter * 3 - 2, quarter * 3, code, f"{_ordinal(quarter)} quarter of {year}")
    if found[3]:
        month = int(found[3])
        return _months(year, month, month, code, f"{date(year, month, 1):%B} {year}")
    return _months(year, 1, 12, code, f"the year {year}")


def _months(year: int, first: int, last: int, code: str, name: str) -> Period:
    return Period(date(year, first, 1), date(year, last, monthrange(year, last)[1]), code, name)


def _ordinal(number: int) -> str:
    return ("first", "second", "third", "fourth")[number - 1]


def periods_until(since: date, today: date) -> list[tuple[str, list[Period]]]:
    """Groups of all months, quarters and years from a day to a day, the newest first in each."""
    years = range(today.year, since.year - 1, -1)
    codes = {
        "Months": [f"{year}-{month:02}" for year in years for month in range(12, 0, -1)],
        "Quarters": [f"{year}-Q{quarter}" for year in years for quarter in range(4, 0, -1)],
        "Years": [f"{year}" for year in years],
    }
    read = {name: [period for code in listed if (period := read_period(code))] for name, listed in codes.items()}
    return [(name, [one for one in found if one.first <= today and one.last >= since]) for name, found in read.items()]
