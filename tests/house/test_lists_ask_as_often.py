"""Every page that needs no number in its address asks the database as often for many rows as for a few."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Stage
from shop.models import Staff
from tests import builders as make
from tests.conftest import StillClock, signed_in
from tests.house.pages import addresses

pytestmark = pytest.mark.django_db
FEW, MORE = 2, 9


def fill(rows: range) -> None:
    """For each: a customer with a set handed over, one on the bench, one that waits for an answer; a part with a lot."""
    for number in rows:
        customer = make.a_customer(f"Iwona Brzask {number}", email=f"iwona{number}@example.org")
        make.a_job(Stage.HANDED_OVER, customer=customer)
        make.a_job(Stage.AWAITING_CONSENT, customer=customer)
        working = make.a_job(Stage.REPAIRING, customer=customer)
        make.some_work(working)
        make.a_fit(working)
        supplier = make.a_supplier(f"Ferrule & Daughters {number}")
        make.a_lot(make.a_part(f"{100 + number} kΩ 1 W", "resistor"), drawer=make.a_drawer("B", str(number)), supplier=supplier)


def asked(client: Client) -> dict[str, int]:
    """Of every such page, how often it asks; pages that answer with something else than a page are left out."""
    found = {}
    for one in addresses():
        if "<" in one.route or one.name in ("login", "logout"):
            continue
        with CaptureQueriesContext(connection) as queries:
            answer = client.get(reverse(one.name))
        if answer.status_code == 200:
            found[one.name] = len(queries)
    return found


def test_many_rows_take_no_more_questions_than_a_few(owner: Staff, still_clock: StillClock) -> None:
    make.a_profile()
    client = signed_in(owner)
    fill(range(FEW))
    asked(client)  # what is asked once only, such as the filters that lists remember
    few = asked(client)
    fill(range(FEW, MORE))
    many = asked(client)
    assert {name: (few[name], many[name]) for name in few if many[name] > few[name]} == {}
    assert len(few) > 40
