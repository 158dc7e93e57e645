"""Suppliers, drawers, and the parts in them, bought in lots over the months before now."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from inventory.components.notation import read_notation
from inventory.components.writing import write_value
from inventory.models import Drawer, Lot, Part, Supplier
from inventory.services import PartFacts, Place, Receipt, SupplierFacts, add_drawer, add_part, add_supplier, receive
from shop.demo.people import Cast, data
from shop.models import MarkupStep

QUANTITIES = ("resistance", "capacitance", "inductance")
SECOND_LOT_SHARE = 0.25


def fill_drawers(cast: Cast, rng: Random, opened_at: datetime, until: datetime) -> list[Lot]:
    """Write the markup ladder and suppliers, then receive every part: a first lot at the opening, some later ones."""
    written = data("parts.toml")
    MarkupStep.objects.bulk_create(
        MarkupStep(cost_up_to_minor=up_to, factor_percent=factor) for up_to, factor in written["ladder"]
    )
    suppliers = [add_supplier(SupplierFacts(**one)) for one in written["suppliers"]]
    trays: dict[str, int] = {}
    lots = []
    for group in written["group"]:
        for part, drawer in _parts(group, trays):
            lots += list(_lots(part, drawer, group, suppliers, cast, rng, opened_at, until))
    return lots


def _parts(group: Mapping[str, Any], trays: dict[str, int]) -> Iterator[tuple[Part, Drawer]]:
    """Each part of a group with its drawer; `trays` counts the trays used of each cabinet."""
    cabinet = group["cabinet"]
    drawer: Drawer | None = None
    for place, marking in enumerate(_markings(group)):
        if drawer is None or place % group["per_drawer"] == 0:
            trays[cabinet] = trays.get(cabinet, 0) + 1
            drawer = add_drawer(Place(cabinet, str(trays[cabinet])))
        yield _part(marking, group), drawer


def _markings(group: Mapping[str, Any]) -> list[str]:
    if "values" in group:
        values = list(group["values"])
    else:
        sizes = [Decimal(figure).scaleb(decade) for decade in group["decades"] for figure in group["figures"]]
        values = [write_value(size, group["kind"]) for size in sizes]
    rating = group.get("rating", "")
    return [f"{value} {rating}".strip() for value in values]


def _part(marking: str, group: Mapping[str, Any]) -> Part:
    facts = PartFacts(
        group["kind"],
        marking,
        technology=group.get("technology", ""),
        polarised=group.get("polarised", False),
        list_price_minor=group.get("list_price"),
        minimum=_minimum(marking, group["count"]),
        **_read(marking, group["kind"]),
    )
    return add_part(facts)


def _minimum(marking: str, count: int) -> int:
    """A fifth of what a lot brings; of some parts the shop has come to want more than it ever bought at once."""
    return count + count // 2 if Random(marking).random() < 0.05 else max(count // 5, 1)


def _read(marking: str, kind: str) -> dict[str, Any]:
    """The searchable figures of a marking."""
    if kind not in QUANTITIES:
        return {}
    spec = read_notation(marking, kind)
    low, high = spec.tolerance_percent or (None, None)
    figures = {"value_si": spec.value, "volts": spec.volts, "watts": spec.watts, "tolerance_low": low, "tolerance_high": high}
    return {
        "safety_class": spec.safety_class or "",
        **{name: None if value is None else float(value) for name, value in figures.items()},
    }


def _lots(
    part: Part,
    drawer: Drawer,
    group: Mapping[str, Any],
    suppliers: list[Supplier],
    cast: Cast,
    rng: Random,
    opened_at: datetime,
    until: datetime,
) -> Iterator[Lot]:
    first = opened_at + timedelta(hours=rng.randint(1, 60))
    yield _receive(part, drawer, group, suppliers[group["supplier"]], cast, rng, first)
    if rng.random() < SECOND_LOT_SHARE:
        later = opened_at + (until - opened_at) * rng.uniform(0.3, 0.97)
        yield _receive(part, drawer, group, suppliers[rng.randrange(len(suppliers))], cast, rng, later)


def _receive(
    part: Part, drawer: Drawer, group: Mapping[str, Any], supplier: Supplier, cast: Cast, rng: Random, at: datetime
) -> Lot:
    dated = f"{at.year % 100 - 1:02d}{rng.randint(1, 52):02d}" if part.kind not in ("valve", "other") else ""
    receipt = Receipt(
        part,
        drawer,
        group["count"],
        round(group["milli"] * rng.uniform(0.85, 1.2)),
        at.date(),
        supplier=supplier,
        date_code=dated,
        condition="used" if part.kind == "valve" and rng.random() < 0.25 else "new",
    )
    return receive(receipt, person=cast.counter, at=at)
