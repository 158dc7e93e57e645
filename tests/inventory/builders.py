"""Forms of the drawers as a browser sends them."""

import uuid
from io import BytesIO
from typing import Any

from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Lot
from shop.clock import now
from shop.models import Staff
from shop.pictures import read_picture
from tests.builders import drawer_of
from tests.pictures import a_picture


def once() -> str:
    return str(uuid.uuid4())


def part_form(**typed: Any) -> dict[str, Any]:
    return {"once": once(), "kind": "capacitance", "marking": "0.047 µF 630 V", "technology": "film", "minimum": "0", **typed}


def lot_form(**typed: Any) -> dict[str, Any]:
    usual = {"count": "10", "cost": "2.00", "cost_for": "all", "condition": "new", "received_on": "2026-03-02", "drawer": "A / 1"}
    return {"once": once(), **usual, **typed}


def post(client: Client, name: str, /, *args: Any, **typed: Any) -> Any:
    return client.post(reverse(name, args=args), {"once": once(), **typed})


def texts(response: Any) -> str:
    return " ".join(response.content.decode().split())


def errors_of(response: Any) -> dict[str, list[str]]:
    return {name: list(errors) for name, errors in response.context["form"].errors.items()}


def valves_apart(lot: Lot, person: Staff) -> dict[str, int]:
    """Two valves set apart from a lot, tested, matched, with a picture of the lot; their keys by what they are."""
    at = now()
    tester = services.add_tester(services.TesterFacts("the grey tester", at.date()), today=at.date())
    one, two = services.set_apart(lot, drawer_of(lot), services.next_marks(2), person=person, at=at)
    reading = services.Tested(tester, "9.8 mA", "usable", at.date(), 82, "steady when tapped")
    services.record_test(one, reading, person=person, at=at)
    matched = services.match([one, two], "within 2 %", person=person, at=at)
    picture = read_picture(BytesIO(a_picture()), "bag.png", 10**7)
    photo = services.add_lot_photo(lot, picture, person=person, at=at, caption="the bag")
    return {"valve": one.pk, "tester": tester.pk, "matched": matched.pk, "photo": photo.pk}
