"""A lot with its part as an act needs them: read now, whatever a page read before."""

from inventory.models import Lot, Part
from shop.prepared import Prepared

_LOT = Prepared(lambda key: Lot.objects.filter(pk=key))
_PART = Prepared(lambda key: Part.objects.filter(pk=key))


def lot_now(key: int) -> Lot:
    lot = _LOT.get(key)
    lot.part = _PART.get(lot.part_id)
    return lot
