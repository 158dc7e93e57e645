"""The rules of places as data, each with its citation. Pure: no framework, no models.

`PLACES` holds one `Rules` a place, read from `places/*.toml`; `effective` gives those of a place as a shop tightened them.
Nothing here is legal advice: every rule is shown with its citation and CHECK.
"""

from shop.jurisdictions.loading import PLACES, STRICTEST, place
from shop.jurisdictions.rules import CHECK, Rules
from shop.jurisdictions.tightening import TooLoose, effective, tightened_by

__all__ = ["CHECK", "PLACES", "STRICTEST", "Rules", "TooLoose", "effective", "place", "tightened_by"]
