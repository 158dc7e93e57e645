"""A shop without a drawer: its pages show the first act."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.builders import a_profile


@pytest.mark.parametrize("name", ["parts", "drawers", "suppliers", "movements", "labels", "receive"])
def test_an_empty_shop_is_shown_the_first_act(name: str, owner_client: Client) -> None:
    a_profile()
    assert owner_client.get(reverse(f"inventory:{name}")).status_code == 200
