"""Whether the stock is small enough to be counted at every look."""

from inventory.models import Lot, Movement
from shop.tallies import few

# Measured: so many lots and movements together are valued within some 50 ms of processor time, the dearest of these counts.
MOST_AT_A_LOOK = 3_000


def stock_is_small() -> bool:
    return few(Lot, Movement, most=MOST_AT_A_LOOK)
