"""The label of one lot: goes on the bag, and tells years later where a part came from."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class LotLabel:
    """`marking` as the trade writes it; `lot_number` as people say it; `return_until_on` ends the supplier's window."""

    shop_name: str
    marking: str
    kind: str
    lot_number: str
    url: str
    received_on: date
    condition: str = "new"
    supplier: str = ""
    date_code: str = ""
    drawer_code: str = ""
    count: int | None = None
    return_until_on: date | None = None
    locale: str = "en_GB"
    width_mm: float = 62
    height_mm: float = 40
