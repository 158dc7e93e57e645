"""A shop on its first day: every list says what will stand in it, and how it gets there."""

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Staff
from tests import builders as make
from tests.conftest import signed_in
from tests.house.pages import Address, PageReader, addresses

pytestmark = [pytest.mark.django_db, pytest.mark.looks]
# Pages that list nothing: forms, tools, sums that are there from the beginning.
NO_LISTS = {
    *("login", "login_code", "logout", "search"),
    # Never empty: the owner is told that there is no copy yet, the shop itself was written down; and one file is no list.
    *("today", "shop:changes", "shop:whole_shop"),
    *("shop:yours", "shop:signed_in", "shop:signed_in_end_others", "shop:second_factor", "shop:second_factor_codes"),
    "shop:second_factor_remove",
    *("shop:owner", "shop:profile", "shop:place", "shop:staff", "shop:staff_new", "shop:password_change", "shop:markup"),
    *("shop:customer_new", "shop:customer_cards", "shop:customer_cards_write"),
    # Charts say in words what each shows, also of nothing; readings ask for a role first.
    *("jobs:intake", "jobs:model_new", "jobs:sums", "jobs:role_readings", "shop:pictures"),
    *("inventory:near", "inventory:make_up", "inventory:colours", "inventory:receive"),
    *(
        "inventory:part_new",
        "inventory:drawer_new",
        "inventory:supplier_new",
        "inventory:order_new",
        "inventory:supplier_bill_new",
    ),
    *("inventory:tester_new", "inventory:cabinet_face", "inventory:match"),
}
EMPTY = re.compile(r'class="empty(-line)?"')


def lists() -> Iterator[Address]:
    for one in addresses():
        if "<" not in one.route and one.name not in NO_LISTS:
            yield one


@pytest.fixture
def client(owner: Staff) -> Client:
    make.a_profile()
    return signed_in(owner)


def test_every_list_of_an_empty_shop_teaches(client: Client) -> None:
    silent = {}
    for one in lists():
        answer = client.get(reverse(one.name))
        if answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            page = answer.content.decode()
            if "<html" in page and not EMPTY.search(page):
                silent[one.name] = PageReader(page).title
    assert silent == {}, "say what will stand there and how it gets there, or name the page above"


def test_what_is_said_of_an_empty_list_is_a_sentence_with_its_act(client: Client) -> None:
    """A heading and a full sentence; an act leads to a page that is there for this person."""
    wrong = {}
    for one in lists():
        answer = client.get(reverse(one.name))
        if answer.status_code != 200 or not answer.headers["Content-Type"].startswith("text/html"):
            continue
        for told in re.findall(r'<section class="empty">(.*?)</section>', answer.content.decode(), re.S):
            heading, text = re.search(r"<h2>(.+?)</h2>", told), re.search(r"<p>(.+?)</p>", told, re.S)
            acts = re.findall(r'class="act" href="([^"]*)"', told)
            if not heading or not text or not text[1].strip().endswith((".", "?")):
                wrong[one.name] = told
            wrong |= {f"{one.name} leads to {act}": told for act in acts if client.get(act).status_code != 200}
    assert wrong == {}
