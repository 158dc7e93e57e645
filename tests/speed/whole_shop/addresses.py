"""Every page of the shop as an address with real numbers, found from the URL resolver; so none is forgotten."""

from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from tests.house.pages import WITHOUT_SIGNING_IN, addresses
from tests.speed.whole_shop.samples import named, ordinary_job

# They sign in and out, or write a file of all there is: its size is the shop's.
LEFT_OUT = WITHOUT_SIGNING_IN | {"logout"}
SEARCHED = "0.1"


@dataclass(frozen=True, slots=True)
class Page:
    name: str
    address: str


def pages() -> tuple[list[Page], list[str]]:
    """All addresses that a GET may be tried on, and the names of those that no row was found for."""
    rows = named(ordinary_job())
    found, without = [], []
    for one in addresses():
        if one.name in LEFT_OUT or one.route.startswith(("static", "media")):
            continue
        arguments = _arguments(one.route, rows)
        if arguments is None:
            without.append(one.name)
        else:
            found.append(Page(one.name, reverse(one.name, kwargs=arguments)))
    return found, without


def _arguments(route: str, rows: dict[str, Any]) -> dict[str, Any] | None:
    if "<" not in route:
        return {}
    before, parameter, rest = route.partition("/<int:pk>")
    word = before.rpartition("/")[2]
    if not parameter or "<" in before + rest or word not in rows:
        return None
    row = rows[word]()
    return None if row is None else {"pk": row.pk}


def shapes(address: str) -> dict[str, str]:
    """A list at its first page, filtered, and at its last."""
    return {"": address, "filtered": f"{address}?q={SEARCHED}", "last": f"{address}?page=last"}
