"""Fills the electronic invoice from an issued paper's own frozen rows, or says in words why it can't be told.

`telling` reads the rows, `missing` finds what EN 16931 wants and they don't hold, `rows` reads what both need.
"""

from billing.einvoice.terms import NotTold
from billing.einvoice_of.telling import einvoice_of

__all__ = ["NotTold", "einvoice_of"]
