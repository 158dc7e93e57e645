"""What the tests of signing in share."""

from typing import Any

from django.test import Client
from django.urls import reverse

from shop.models import SecondFactor, Staff
from shop.sign_in import codes, factor
from shop.sign_in.sealing import open_sealed, seal
from tests.conftest import MONDAY, PASSWORD


def try_to(client: Client, name: str = "colleague", password: str = PASSWORD, **more: Any) -> Any:
    return client.post(reverse("login"), {"username": name, "password": password, **more})


def is_in(client: Client) -> bool:
    return client.get(reverse("shop:yours")).status_code == 200


def a_factor(person: Staff) -> str:
    """A second factor that was confirmed a day ago; gives its secret."""
    found = SecondFactor.objects.create(person=person, secret=seal(codes.new_secret()), made_at=MONDAY, confirmed_at=MONDAY)
    return open_sealed(found.secret)


def code_at(secret: str, at: Any, steps: int = 0) -> str:
    return codes.code_of(secret, codes.step_at(at) + steps)


def recovery_codes(person: Staff) -> list[str]:
    return factor.new_recovery_codes(person)
