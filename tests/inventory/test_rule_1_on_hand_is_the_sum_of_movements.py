"""Rule 1: on-hand = the sum of movements, per part, lot and drawer; never negative; every fitted part is exactly one movement."""

from collections.abc import Iterable

import pytest
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import Model, Sum

from inventory import services as stock
from inventory.models import Balance, Drawer, Lot, Movement, Part
from jobs.models import EntryKind, LogEntry, Stage
from jobs.services import log, reforming
from jobs.services.consents import take_deposit
from shop.append_only import LEDGERS, drop_triggers, expected_names, trigger_names
from shop.models import Staff
from tests.builders import a_drawer, a_fit, a_job, a_lot, a_part, a_staff, a_supplier, author, drawer_of, position_of, some_work
from tests.conftest import MONDAY
from tests.inventory import ledger_rows

pytestmark = pytest.mark.django_db


@pytest.fixture
def person(db: None) -> Staff:
    return a_staff()


def _sums(model: type[Model], column: str, *keys: str) -> dict[object, int]:
    rows = model._default_manager.order_by().values_list(*keys).annotate(total=Sum(column))
    return {row[:-1]: row[-1] for row in rows if row[-1]}


def assert_on_hand_is_the_sum_of_movements() -> None:
    for keys in (("lot__part",), ("lot",), ("drawer",), ("lot", "drawer")):
        assert _sums(Balance, "on_hand", *keys) == _sums(Movement, "count", *keys), f"by {' and '.join(keys)}"
    parts = {(part.pk,): part.on_hand for part in Part.objects.with_stock()}  # type: ignore[attr-defined]
    assert {key: on_hand for key, on_hand in parts.items() if on_hand} == _sums(Movement, "count", "lot__part")


def test_it_holds_through_every_act_that_moves_a_part(person: Staff) -> None:
    job = a_job(Stage.REPAIRING)
    lot, second = a_lot(count=20, at=MONDAY, supplier=a_supplier()), a_drawer("B", "7")
    first = drawer_of(lot)
    entry = a_fit(job, "C2", lot)
    log.take_out(entry, "lead too short", author(person), scrap=False)
    scrapped = a_fit(job, "C2", lot)
    log.take_out(scrapped, "wire broke off", author(person), scrap=True)
    a_fit(job, "C2", lot)
    stock.transfer(lot, first, second, 5, person=person, at=MONDAY)
    stock.scrap(lot, second, 1, reason="leaky on the bridge", person=person, at=MONDAY)
    stock.send_back(lot, second, 2, reason="wrong voltage delivered", person=person, at=MONDAY)
    stock.count_drawer(lot, first, 11, reason="two fell behind the bench", person=person, at=MONDAY)
    assert_on_hand_is_the_sum_of_movements()
    assert [balance.on_hand for balance in lot.balances.order_by("drawer__cabinet")] == [11, 2]


def test_a_hold_moves_nothing_and_keeps_its_parts_from_others(person: Staff) -> None:
    lot = a_lot(count=3)
    stock.hold(lot, drawer_of(lot), 2, reference="J-2026-0009", person=person, at=MONDAY)
    assert Movement.objects.filter(lot=lot).count() == 1
    with pytest.raises(stock.NotEnough, match="has 3 of 0.01 µF 630 V film, 2 of them held for other jobs, and 2 are wanted"):
        stock.take(lot, drawer_of(lot), 2, reference="", person=person, at=MONDAY)
    assert_on_hand_is_the_sum_of_movements()


@pytest.mark.parametrize("act", ["take", "scrap", "send_back", "transfer"])
def test_no_act_takes_more_than_there_is(act: str, person: Staff) -> None:
    lot = a_lot(count=2, supplier=a_supplier())
    acts = {
        "take": lambda: stock.take(lot, drawer_of(lot), 3, reference="", person=person, at=MONDAY),
        "scrap": lambda: stock.scrap(lot, drawer_of(lot), 3, reason="x", person=person, at=MONDAY),
        "send_back": lambda: stock.send_back(lot, drawer_of(lot), 3, reason="x", person=person, at=MONDAY),
        "transfer": lambda: stock.transfer(lot, drawer_of(lot), a_drawer("Z", "9"), 3, person=person, at=MONDAY),
    }
    with pytest.raises(stock.NotEnough):
        acts[act]()
    assert lot.balances.get(drawer=drawer_of(lot)).on_hand == 2
    assert_on_hand_is_the_sum_of_movements()


def test_the_database_itself_refuses_a_negative_balance(person: Staff) -> None:
    lot = a_lot(count=2)
    with pytest.raises(IntegrityError), transaction.atomic():
        Balance.objects.filter(lot=lot).update(on_hand=-1)
    with pytest.raises(IntegrityError), transaction.atomic():
        Balance.objects.filter(lot=lot).update(held=3)


def test_every_fitted_part_is_exactly_one_movement(person: Staff) -> None:
    a_job(Stage.HANDED_OVER)
    job = a_job(Stage.REPAIRING)
    a_fit(job)
    a_fit(job, "R1", a_lot(a_part("220 kΩ 1/2 W", "resistance", "carbon_film")), count=1)
    fitted = list(LogEntry.objects.filter(kind=EntryKind.FITTED).order_by("movement"))
    assert len(fitted) == 3
    assert {entry.movement_id for entry in fitted} == set(Movement.objects.filter(kind="fitted").values_list("pk", flat=True))
    movements = Movement.objects.filter(kind="fitted").order_by("pk").values_list("pk", "lot", "count")
    assert [(entry.movement_id, entry.lot_id, -entry.count) for entry in fitted] == list(movements)


def test_the_database_itself_refuses_a_fitted_part_without_a_movement_of_its_own() -> None:
    job = a_job(Stage.REPAIRING)
    entry = a_fit(job)
    alike = {"job": job, "position": position_of(job), "kind": EntryKind.FITTED, "part": entry.part, "lot": entry.lot}
    for seq, movement in ((90, None), (91, entry.movement)):
        with pytest.raises(IntegrityError), transaction.atomic():
            LogEntry.objects.create(seq=seq, movement=movement, at=MONDAY, person=entry.person, **alike)


def _a_row_in_every_ledger(person: Staff) -> None:
    job = a_job(Stage.READY)
    take_deposit(job, 500, "cash", person=person, at=MONDAY)
    some_work(a_job(Stage.REPAIRING))
    handed_over = a_job(Stage.HANDED_OVER)
    run = reforming.start(position_of(job, "C3"), reforming.Setup("47 µF 160 V"), person=person, at=MONDAY)
    reforming.add_reading(run, reforming.Typed("16", "1.9"), person=person, at=MONDAY)
    ledger_rows.of_the_drawers(person)
    ledger_rows.of_a_warranty(handed_over.warranty, job, person)
    fitted = LogEntry.objects.filter(kind=EntryKind.FITTED).select_related("lot").first()
    assert fitted is not None
    assert fitted.lot is not None
    ledger_rows.of_a_fitted_lot(fitted, fitted.lot, person)
    ledger_rows.of_a_set_that_nobody_collects(job, person)
    ledger_rows.of_other_things(job, person)


def test_the_database_refuses_to_change_or_delete_a_line_of_any_ledger(person: Staff) -> None:
    _a_row_in_every_ledger(person)
    for table in LEDGERS:
        for verb, sql in (("UPDATE", f'UPDATE "{table}" SET id = -id'), ("DELETE", f'DELETE FROM "{table}"')):
            with pytest.raises(DatabaseError, match=f"{table} is append-only: {verb} refused"), transaction.atomic():
                _execute([sql])


def _execute(statements: Iterable[str]) -> None:
    with connection.cursor() as cursor:
        for sql in statements:
            cursor.execute(sql)


def test_the_triggers_are_there_after_the_migrations_and_come_back_with_every_migrate() -> None:
    wanted = {f"{table}_no_{verb}" for table in LEDGERS for verb in ("update", "delete")}
    assert expected_names(connection) == wanted
    assert wanted <= trigger_names(connection)
    drop_triggers(connection)
    assert not wanted & trigger_names(connection)
    call_command("migrate", verbosity=0, interactive=False)
    assert wanted <= trigger_names(connection)


def test_drawer_and_lot_of_a_movement_are_kept(person: Staff) -> None:
    """A lot or drawer with a history can't be deleted from under its ledger."""
    lot = a_lot()
    for thing in (lot, drawer_of(lot), lot.part):
        assert isinstance(thing, Lot | Drawer | Part)
        with pytest.raises(IntegrityError), transaction.atomic():
            thing.delete()
