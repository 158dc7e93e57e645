"""A request that waited too long for the database is told so, keeps what was typed, and can be sent again."""

from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from shop.models import Customer
from shop.web.busy import is_busy
from tests.builders import a_profile
from tests.inventory.builders import once, texts

pytestmark = pytest.mark.django_db


def locked(*args: Any, **kwargs: Any) -> None:
    raise OperationalError("database is locked")


def test_what_was_typed_can_be_sent_again_and_acts_once(owner_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    a_profile()
    typed = {"once": once(), "name": "Wilmot <Asketh>", "phone": "", "email": "", "address": "", "note": "rings twice"}
    address = reverse("shop:customer_new")
    with monkeypatch.context() as patch:
        patch.setattr("shop.acts.once", locked)
        answer = owner_client.post(address, {**typed, "override_password": "warm-valve-9"})
    assert answer.status_code == 503
    assert "warm-valve-9" not in answer.content.decode()
    assert answer.headers["Retry-After"] == "5"
    page = texts(answer)
    assert "Nothing of what you sent was kept" in page
    assert 'name="name" value="Wilmot &lt;Asketh&gt;"' in page
    assert f'name="once" value="{typed["once"]}"' in page
    assert f'action="{address}"' in page
    assert owner_client.post(address, typed).status_code == 302
    assert Customer.objects.get().name == "Wilmot <Asketh>"


def test_a_page_that_waited_too_long_is_loaded_again(owner_client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    a_profile()
    monkeypatch.setattr("shop.views.customers.render", locked)
    answer = owner_client.get(reverse("shop:customer_new") + "?a=1")
    assert answer.status_code == 503
    assert 'href="/house/customers/new/?a=1"' in texts(answer)


def test_other_trouble_is_no_waiting() -> None:
    assert is_busy(OperationalError("deadlock detected\nDETAIL: ..."))
    assert not is_busy(OperationalError("no such table: nothing"))
    assert not is_busy(ValueError("database is locked"))
