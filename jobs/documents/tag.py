"""The tag tied to a set: read at arm's length, from a shelf, by whoever looks for it."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Tag:
    """`set_line` is `maker model, serial`. `transformerless` prints the live-chassis caution."""

    shop_name: str
    job_number: str
    customer_short: str
    set_line: str
    job_url: str
    taken_in_on: date
    promised_on: date | None = None
    stands_at: str = ""
    transformerless: bool = False
    locale: str = "en_GB"
    width_mm: float = 90
    height_mm: float = 55
