"""What is in the drawers, where it came from, what it costs. Written by `inventory.services`, read by `inventory.queries`."""

from inventory.models.bad_lots import BadLot, SupplierClaim, SupplierClaimKind, SupplierClaimStep
from inventory.models.cards import CabinetFace, Condition, Drawer, Kind, Supplier, Technology
from inventory.models.counts import CountedLot, DrawerCount
from inventory.models.individuals import LotPhoto, MatchedSet, ValveTest, ValveTester, ValveVerdict
from inventory.models.offers import ListLayout, Offer, PriceList
from inventory.models.orders import BILLS_IN_ORDER, Order, OrderLine, OrderState, SupplierBill, SupplierBillLine
from inventory.models.stock import Balance, Hold, Lot, Movement, MovementKind, Part, PartQuerySet, title_of
from inventory.models.value import ListPriceChange, Writedown

__all__ = [
    "BILLS_IN_ORDER",
    "BadLot",
    "Balance",
    "CabinetFace",
    "Condition",
    "CountedLot",
    "Drawer",
    "DrawerCount",
    "Hold",
    "Kind",
    "ListLayout",
    "ListPriceChange",
    "Lot",
    "LotPhoto",
    "MatchedSet",
    "Movement",
    "MovementKind",
    "Offer",
    "Order",
    "OrderLine",
    "OrderState",
    "Part",
    "PartQuerySet",
    "PriceList",
    "Supplier",
    "SupplierBill",
    "SupplierBillLine",
    "SupplierClaim",
    "SupplierClaimKind",
    "SupplierClaimStep",
    "Technology",
    "ValveTest",
    "ValveTester",
    "ValveVerdict",
    "Writedown",
    "title_of",
]
