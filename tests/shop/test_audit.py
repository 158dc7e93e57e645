"""Who did what is written by the database itself: whatever changes a row, and whoever forgets to say so."""

import json
import sqlite3

import pytest
from django.db import DatabaseError, connection, models, transaction
from django.test import Client

from shop.append_only import LEDGERS, trigger_names
from shop.audit import acting
from shop.audit.plan import BY_USE, NOT_AUDITED, WORDS_KEPT, audited, own_models
from shop.audit.triggers import SILENT, expected_names, standing_aside
from shop.models import AuditEntry, Bench, Profile, Staff
from tests.builders import a_customer, a_part, a_profile
from tests.conftest import MONDAY

pytestmark = pytest.mark.django_db
NEW = "/house/customers/new/"


def newest(table: str) -> AuditEntry:
    found = AuditEntry.objects.filter(table=table).first()
    assert found is not None, f"nothing was written down of {table}"
    return found


def values(text: str) -> dict[str, object]:
    return json.loads(text)


def test_every_model_is_audited_or_a_ledger_or_left_out_with_a_reason() -> None:
    tables = {model._meta.db_table for model in own_models()}
    places = [{one.table for one in audited()}, set(LEDGERS), set(NOT_AUDITED)]
    assert sum(len(place) for place in places) == len(set().union(*places)), "a table in two places"
    assert set().union(*places) == tables
    assert all(len(reason) > 20 for reason in NOT_AUDITED.values())
    assert tables >= WORDS_KEPT | set(BY_USE)


def test_the_database_has_every_trigger() -> None:
    names = expected_names(connection)
    assert len(names) == 3 * len(audited())
    assert names <= trigger_names(connection)


def test_a_change_is_written_down_with_who_where_and_from_what_to_what(owner: Staff) -> None:
    bench = Bench.objects.create(name="Window", order=1)
    with acting(owner, "benches", "192.0.2.7"):
        Bench.objects.filter(pk=bench.pk).update(order=4, name="Window")
    entry = newest("shop_bench")
    assert (entry.person, entry.what, entry.address, entry.verb, entry.row) == (owner, "benches", "192.0.2.7", "U", str(bench.pk))
    assert values(entry.before) == {"order": 1}
    assert values(entry.after) == {"order": 4}


def test_a_new_row_and_one_that_went_are_written_down(owner: Staff) -> None:
    with acting(owner, "benches"):
        bench = Bench.objects.create(name="Window", order=2)
        key = str(bench.pk)
        bench.delete()
    gone, made = AuditEntry.objects.filter(table="shop_bench", row=key)[:2]
    assert (made.verb, made.before, made.after) == ("I", "", "")
    assert gone.verb == "D"
    assert values(gone.before)["name"] == "Window"
    assert made.act == gone.act != ""


def test_saving_a_row_as_it_was_is_no_act() -> None:
    part = a_part()
    count = AuditEntry.objects.count()
    part.save()
    assert AuditEntry.objects.count() == count


def test_of_words_about_a_person_it_is_kept_that_they_changed_never_what_they_were() -> None:
    customer = a_customer()
    customer.phone, customer.note = "+44 20 7946 0999", "prefers the side door"
    customer.save()
    entry = newest("shop_customer")
    assert values(entry.after) == {"phone": SILENT, "note": SILENT, "search": SILENT}
    for one in AuditEntry.objects.all():
        assert "0999" not in one.before + one.after
        assert customer.name not in one.before + one.after


def test_a_password_is_never_kept_and_signing_in_alone_is_no_change(owner: Staff) -> None:
    count = AuditEntry.objects.count()
    Staff.objects.filter(pk=owner.pk).update(last_login=MONDAY)
    assert AuditEntry.objects.count() == count
    owner.set_password("another-rheostat-77")
    owner.save()
    assert values(newest("shop_staff").after) == {"password": SILENT}


def test_the_shops_own_words_keep_their_values() -> None:
    profile = a_profile()
    Profile.objects.update(iban="GB33BUKB20201555555555")
    entry = newest("shop_profile")
    assert values(entry.before) == {"iban": profile.iban}
    assert values(entry.after) == {"iban": "GB33BUKB20201555555555"}


def test_many_rows_in_one_statement_are_many_entries() -> None:
    benches = Bench.objects.bulk_create([Bench(name=f"Bench {n}", order=n) for n in range(5, 8)])
    Bench.objects.filter(pk__in=[one.pk for one in benches]).update(in_use=False)
    assert AuditEntry.objects.filter(table="shop_bench", verb="U").count() == 3


@transaction.atomic
def _make_and_fail() -> None:
    Bench.objects.create(name="Gone", order=9)
    raise ZeroDivisionError


def test_what_was_rolled_back_was_never_done_and_the_next_act_is_still_the_same_persons(owner: Staff) -> None:
    with acting(owner, "benches"):
        with pytest.raises(ZeroDivisionError):
            _make_and_fail()
        assert not AuditEntry.objects.filter(table="shop_bench").exists()
        Bench.objects.create(name="Stays", order=9)
    assert newest("shop_bench").person == owner
    Bench.objects.create(name="Nobody's", order=9)
    assert newest("shop_bench").person is None


def test_nobody_rewrites_what_was_written_down(owner: Staff) -> None:
    a_customer()
    for change in (lambda rows: rows.update(person=owner), lambda rows: rows.delete()):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            change(AuditEntry.objects.all())


def test_a_page_names_itself_and_who_is_signed_in(owner_client: Client, owner: Staff) -> None:
    a_profile()
    data = {"name": "Fay Undercroft", "phone": "01632 960777"}
    page = owner_client.get(NEW)
    data["once"] = page.context["form"]["once"].value()
    assert owner_client.post(NEW, data).status_code == 302
    entry = newest("shop_customer")
    assert (entry.person, entry.what, entry.verb) == (owner, "shop:customer_new", "I")
    assert entry.address == "127.0.0.1"


def test_an_address_with_a_token_is_never_written_down() -> None:
    lengths = {name: AuditEntry._meta.get_field(name).max_length for name in ("what", "address")}
    assert lengths == {"what": 120, "address": 45}
    Client().get(f"/calendar/{'a' * 43}/days.ics")
    assert not AuditEntry.objects.filter(what__contains="a" * 43).exists()


def test_another_program_cannot_write_to_an_audited_table(transactional_db: None) -> None:
    """A file has no user names of its own; a server has, and writes down what another program does there as nobody's."""
    if connection.vendor != "sqlite":
        connection.ensure_connection()
        with connection.connection.cursor() as cursor:
            cursor.execute("RESET shop.acting")
            cursor.execute("INSERT INTO shop_bench (name, \"order\", in_use) VALUES ('Door', 2, true)")
        assert (newest("shop_bench").person, newest("shop_bench").what) == (None, "")
        return
    Bench.objects.create(name="Window", order=1)
    raw = sqlite3.connect(connection.settings_dict["NAME"])
    with pytest.raises(sqlite3.OperationalError, match="no such function: shop_acting"):
        raw.execute("UPDATE shop_bench SET name = 'Door'")
    raw.close()


def test_a_whole_shop_can_be_loaded_with_its_entries_as_they_were() -> None:
    with standing_aside(connection):
        Bench.objects.create(name="Loaded", order=1)
    assert not AuditEntry.objects.filter(table="shop_bench").exists()
    assert expected_names(connection) <= trigger_names(connection)


def test_a_ledger_says_itself_who_and_when() -> None:
    """So that its rows need no second entry; a line of a paper or a reading says it by the row that it belongs to."""
    for model in own_models():
        if model._meta.db_table in LEDGERS:
            assert _says_who_and_when(model), model._meta.label


def _says_who_and_when(model: type[models.Model], depth: int = 0) -> bool:
    if model._meta.db_table not in LEDGERS or depth > 2:
        return False
    names = {field.name for field in model._meta.fields}
    told = any(field.related_model is Staff for field in model._meta.fields)
    if told and any(isinstance(field, models.DateTimeField) for field in model._meta.fields):
        return True
    parents = [field.related_model for field in model._meta.fields if field.is_relation]
    return bool(names) and any(_says_who_and_when(parent, depth + 1) for parent in parents if isinstance(parent, type))
