"""Tests that commit are followed by an emptying of all tables; a ledger that refused it would break the next test."""

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from inventory.models import Condition, Drawer, Kind, Lot, Movement, MovementKind, Part
from shop.append_only import expected_names, trigger_names
from shop.models import Staff
from tests.conftest import MONDAY

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def movement(owner: Staff) -> Movement:
    part = Part.objects.create(kind=Kind.values[0], marking="10n 630V")
    lot = Lot.objects.create(part=part, received_on=MONDAY.date(), condition=Condition.values[0], unit_cost_milli=250_000)
    drawer = Drawer.objects.create(cabinet="A", tray="1")
    return Movement.objects.create(lot=lot, drawer=drawer, kind=MovementKind.values[0], count=5, at=MONDAY, person=owner)


def test_a_ledger_refuses_deletion(movement: Movement) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Movement.objects.filter(pk=movement.pk).delete()


def test_emptying_clears_the_ledger_and_leaves_it_guarded(movement: Movement) -> None:
    call_command("flush", interactive=False, verbosity=0)
    assert not Movement.objects.exists()
    assert expected_names(connection) <= trigger_names(connection)
