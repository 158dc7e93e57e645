"""The owner's page of the whole shop as one open file."""

import io
import zipfile
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop import long_work
from shop.models import AccessEvent, LongWork, WorkState
from tests import builders as make
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db


def ask(client: Client, **typed: str) -> Any:
    return client.post(reverse("shop:whole_shop"), typed, follow=True)


@pytest.fixture
def small_shop(db: None) -> None:
    make.a_profile()


def test_the_owner_asks_for_the_file_once_and_takes_it(owner_client: Client, small_shop: None) -> None:
    key = "5a3c1f0e-9d1b-4f0f-8a77-0c6f1f7d2b10"
    answer = ask(owner_client, password=PASSWORD, once=key)
    assert "It is begun." in answer.content.decode()
    ask(owner_client, password=PASSWORD, once=key)
    long_work.run_waiting()
    [work] = LongWork.objects.filter(kind="whole_shop")
    assert (work.state, work.result_name) == (WorkState.DONE, "whole-shop.zip")
    assert work.message.startswith("The archive holds ")
    got = owner_client.get(reverse("shop:work_file", args=[work.key]))
    with zipfile.ZipFile(io.BytesIO(b"".join(got))) as archive:
        assert "README.txt" in archive.namelist()
    assert AccessEvent.objects.filter(kind="taken_out").count() == 1


def test_a_wrong_password_gets_no_file_and_leaves_a_trace(owner_client: Client, small_shop: None) -> None:
    answer = ask(owner_client, password="not-this-one", once="5a3c1f0e-9d1b-4f0f-8a77-0c6f1f7d2b11")
    assert answer.status_code == 422
    assert "That isn&#x27;t your password." in answer.content.decode()
    assert not LongWork.objects.exists()
    assert AccessEvent.objects.get().kind == "failed"
    assert ask(owner_client, password="").status_code == 422


def test_only_the_owner_may_have_the_whole_shop(colleague_client: Client, counter_client: Client, small_shop: None) -> None:
    for client in (colleague_client, counter_client):
        assert client.get(reverse("shop:whole_shop")).status_code == 403
        assert ask(client, password=PASSWORD).status_code == 403
    assert not LongWork.objects.exists()
