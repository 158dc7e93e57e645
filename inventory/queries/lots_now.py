"""A lot with its part as an act needs them: read now, whatever a page read before."""

from inventory.models import Lot, Part
from shop.prepared import by_key

_LOT = by_key(Lot)
_PART = by_key(Part)


def lot_now(key: int) -> Lot:
    lot = _LOT.get(key)
    lot.part = _PART.get(lot.part_id)
    return lot
