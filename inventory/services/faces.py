"""How a cabinet looks from the front, so that its picture on the page is the one before one's eyes."""

from django.db import transaction

from inventory.models import CabinetFace, Drawer
from shop.acts import Refused

MOST_ACROSS = 24


@transaction.atomic
def set_face(cabinet: str, across: int) -> CabinetFace:
    """Say how many trays of a cabinet stand side by side."""
    if not Drawer.objects.filter(cabinet=cabinet).exists():
        raise Refused(f"There is no cabinet {cabinet}. Make its drawers first.", code="no_cabinet")
    if not 1 <= across <= MOST_ACROSS:
        raise Refused(f"From 1 to {MOST_ACROSS} trays can stand side by side.", field="across")
    return CabinetFace.objects.update_or_create(name=cabinet, defaults={"across": across})[0]
