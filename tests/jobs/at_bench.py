"""What the tests of the bench share: a once-token, parts for the list that `a_model` has, an entry form filled in."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from inventory.models import Kind, Lot, Part
from jobs.models import Position
from jobs.queries.sheet import PositionState, position_state
from tests.builders import a_part, drawer_of


def token() -> str:
    return str(uuid.uuid4())


def a_resistor(price_minor: int = 900) -> Part:
    return a_part("220 kΩ 1 W", Kind.RESISTOR, "carbon_film", list_price_minor=price_minor)


def a_class_y_capacitor() -> Part:
    return a_part("0.0047 µF 250 V Y2", Kind.CAPACITOR, "ceramic")


def state_of(position: Position) -> PositionState:
    return position_state(position)


def offer_of(lot: Lot) -> str:
    return f"{lot.pk}:{drawer_of(lot).pk}"


def enter(client: Client, position: Position, name: str, seen: int | None = None, **fields: Any) -> HttpResponse:
    """Send one entry form of a position, as seen just now unless `seen` says otherwise."""
    last = position_state(position).last_seq if seen is None else seen
    data = {"once": token(), "seen": last, "count": 1, **fields}
    return client.post(reverse(f"jobs:entry_{name}", args=[position.pk]), data)  # type: ignore[return-value]
