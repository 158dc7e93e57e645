"""Papers of the drawers as finished files, by primary key: for a page and for many at a time.

Each raises the model's DoesNotExist. `root` is the shop's own address without a stroke at its end (`https://shop.example`):
labels carry a code that opens their drawer or lot.
"""

from collections.abc import Callable, Iterable
from datetime import date

from django.urls import reverse

from inventory.documents import labels as label_sheet
from inventory.documents import lot_label as bag_label
from inventory.documents import order as order_document
from inventory.documents import supplier_claim as supplier_claim_letter
from inventory.documents.labels import DrawerContent, DrawerLabel, DrawerLabels, LabelSheet
from inventory.documents.lot_label import LotLabel
from inventory.models import Balance, Drawer, Lot, Order, SupplierClaim
from inventory.queries.lots import listed_lots, received_count
from inventory.queries.order_paper import order_paper
from inventory.queries.orders import standing_of
from inventory.queries.supplier_claim_paper import letter_of
from shop.models import Profile
from shop.paper.drawn import Drawn


def _contents(drawers: list[Drawer]) -> dict[int, list[DrawerContent]]:
    """What lies in each drawer, each part once."""
    there = Balance.objects.filter(drawer__in=drawers, on_hand__gt=0).select_related("lot__part")
    found: dict[int, dict[int, DrawerContent]] = {}
    for balance in there.order_by("lot__part__kind", "lot__part__value_si", "lot__part__marking"):
        part = balance.lot.part
        made = part.get_technology_display() if part.technology else part.get_kind_display()
        found.setdefault(balance.drawer_id, {})[part.pk] = DrawerContent(part.marking, made)
    return {drawer: list(parts.values()) for drawer, parts in found.items()}


def drawer_labels(
    drawers: Iterable[Drawer], sheet: LabelSheet, profile: Profile, root: str, tick: Callable[[int], None] = lambda seen: None
) -> Drawn:
    """The labels of drawers in their order, on sheets as measured. `tick` is told how many were drawn so far."""
    listed = list(drawers)
    held = _contents(listed)
    made = tuple(
        DrawerLabel(one.code, root + reverse("inventory:drawer", args=[one.pk]), tuple(held.get(one.pk, ()))) for one in listed
    )
    return Drawn("drawer-labels.pdf", label_sheet.draw(DrawerLabels(profile.name, made, sheet), tick))


def lot_label(pk: int, profile: Profile, root: str) -> Drawn:
    """The label for the bag of one lot."""
    return Drawn(f"lot-{pk}.pdf", bag_label.draw(_bag(listed_lots().get(pk=pk), profile, root)))


def bag_labels(day: date, sheet: LabelSheet, profile: Profile, root: str) -> Drawn:
    """Labels for the bags of all lots that came in on a day. Raises Lot.DoesNotExist where none did."""
    lots = list(listed_lots().filter(received_on=day).order_by("pk"))
    if not lots:
        raise Lot.DoesNotExist("No lot came in on that day.")
    labels = [_bag(lot, profile, root) for lot in lots]
    return Drawn(f"bags-{day.isoformat()}.pdf", bag_label.draw_sheet(labels, sheet))


def _bag(lot: Lot, profile: Profile, root: str) -> LotLabel:
    """`lot` as `listed_lots` gives it."""
    return LotLabel(
        profile.name,
        lot.part.marking,
        lot.part.get_kind_display(),
        str(lot.pk),
        root + reverse("inventory:lot", args=[lot.pk]),
        lot.received_on,
        lot.condition,
        lot.supplier.name if lot.supplier else "",
        lot.date_code,
        lot.lying[0].drawer.code if lot.lying else "",  # type: ignore[attr-defined]
        lot.on_hand or received_count(lot),  # type: ignore[attr-defined]
        lot.return_until_on,
        profile.locale,
    )


def order(pk: int, profile: Profile, on: date) -> Drawn:
    """An order to a supplier; a draft says that it is one."""
    one = Order.objects.select_related("supplier", "made_by", "sent_by").get(pk=pk)
    paper = order_paper(standing_of(one, profile.currency, on), profile)
    return Drawn(f"order-{one.number or 'draft'}.pdf", order_document.draw(paper))


def supplier_claim(pk: int, profile: Profile) -> Drawn:
    """The letter to the supplier about parts that failed."""
    heads = ("supplier", "lot__part", "lot__order_line__order")
    claim = SupplierClaim.objects.select_related(*heads).get(pk=pk)
    return Drawn(f"claim-lot-{claim.lot_id}.pdf", supplier_claim_letter.draw(letter_of(claim, profile)))
