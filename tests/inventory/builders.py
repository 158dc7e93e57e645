"""Forms of the drawers as a browser sends them."""

import uuid
from typing import Any

from django.test import Client
from django.urls import reverse


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
