"""PURE: what to buy where, so that everything wanted comes in time and costs least with carriage. No framework, no database.

from inventory.buying import Source, SupplierTerms, Want, cheapest

choice = cheapest(wants, sources, terms, today)
choice.best.total           # Fraction, thousandths of the smallest coin of the shop's money
choice.best.orders          # one a supplier, with its lines
choice.single, choice.each  # the two plain ways of buying, to compare with
"""

from inventory.buying.baskets import Basket, Choice, Delivery, Line, SupplierOrder
from inventory.buying.cheapest import SECONDS, cheapest
from inventory.buying.deadlines import Unbought
from inventory.buying.wants import Key, Source, SupplierTerms, Want

__all__ = [
    "SECONDS",
    "Basket",
    "Choice",
    "Delivery",
    "Key",
    "Line",
    "Source",
    "SupplierOrder",
    "SupplierTerms",
    "Unbought",
    "Want",
    "cheapest",
]
