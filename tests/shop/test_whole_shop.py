"""The whole shop as one open file: read by anybody, read in by the program, the same to the byte; and what is refused."""

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection

from inventory.models import Movement
from jobs.models import LogEntry
from shop.append_only import create_triggers, drop_triggers
from shop.archive import checking, tables
from shop.archive.loading import refuse_unless_empty
from shop.archive.reading_in import read_in
from shop.archive.refusing import Unfit
from shop.archive.rows import columns_of, line_of, row_of
from shop.archive.snapshot import snapshot
from shop.archive.tables import LEFT_OUT, OF_LIBRARIES, OWN_APPS, is_taken, taken
from shop.archive.writing import EPOCH, write
from shop.audit import triggers as audit
from shop.audit.plan import own_models
from shop.clock import now
from shop.models import AccessEvent, AuditEntry, Customer, LongWork, Profile
from tests import builders as make
from tests.house.one_of_everything import opened_shop

pytestmark = pytest.mark.django_db
Change = Callable[[dict[str, bytes]], None]


@pytest.fixture(scope="module")
def everything(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[bytes]:
    """The archive of a shop with one of everything. The shop is gone again from here on."""
    photos = tmp_path_factory.mktemp("photos")
    with opened_shop(django_db_blocker, photos):
        make.a_customer(name="Żaneta Ósma\u2028 “D'Arc” 🎛️")
        written = written_now()
        yield written


def written_now() -> bytes:
    file = io.BytesIO()
    write(file)
    return file.getvalue()


def emptied() -> None:
    """As a shop is before anything is in it; what only tests may do."""
    audit.drop(connection)
    drop_triggers(connection)
    with connection.cursor() as cursor, connection.constraint_checks_disabled():
        for model in own_models():
            cursor.execute(f'DELETE FROM "{model._meta.db_table}"')
    connection.check_constraints()
    create_triggers(connection)
    audit.create(connection)


def in_file(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "shop.zip"
    path.write_bytes(content)
    return path


def test_every_table_is_taken_along_or_left_out_with_a_reason() -> None:
    models = [model for model in apps.get_models(include_auto_created=True) if model._meta.managed and not model._meta.proxy]
    for model in models:
        label, app = model._meta.label_lower, model._meta.app_label
        assert is_taken(model) != (label in LEFT_OUT or app in OF_LIBRARIES), label
        assert app in OWN_APPS or app in OF_LIBRARIES, f"say why tables of {app} stay behind"
    assert LEFT_OUT.keys() <= {model._meta.label_lower for model in models}
    assert all(len(why) > 10 for why in (*LEFT_OUT.values(), *OF_LIBRARIES.values()))


def test_what_is_taken_along_refers_to_nothing_that_stays_behind() -> None:
    there = {model._meta.label_lower for model in taken(apps)}
    assert all(tables.referred(model) <= there for model in taken(apps))


def test_every_column_has_a_way_into_the_archive() -> None:
    assert all(columns_of(model) for model in taken(apps))


def test_one_of_everything_comes_back_to_the_byte(everything: bytes, tmp_path: Path) -> None:
    before = list(AuditEntry.objects.values_list("pk", flat=True))
    emptied()
    made = read_in(in_file(tmp_path, everything))
    assert written_now() == everything
    assert made.row_count > 500
    assert Movement.objects.exists()
    # What was loaded is no act of whoever loads it.
    assert list(AuditEntry.objects.values_list("pk", flat=True)) == before
    Customer.objects.create(name="Nobody Newcomer", created_at=now())
    assert AuditEntry.objects.count() == len(before) + 1
    assert Profile.objects.get().pk == 1


def test_new_rows_get_keys_above_those_of_rows_that_were_removed(everything: bytes, tmp_path: Path) -> None:
    gone = make.a_customer(name="Gone Gently")
    key = gone.pk
    gone.delete()
    content = written_now()
    emptied()
    read_in(in_file(tmp_path, content))
    assert make.a_customer(name="Next Nigel").pk > key


def test_anybody_can_read_it(everything: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(everything)) as archive:
        said = json.loads(archive.read("manifest.json"))
        explained = archive.read("README.txt").decode()
        assert {info.date_time for info in archive.infolist()} == {EPOCH}
        for table in said["tables"]:
            rows = [json.loads(line) for line in archive.read(table["name"]).splitlines()]
            assert len(rows) == table["rows"]
            assert hashlib.sha256(archive.read(table["name"])).hexdigest() == table["sha256"]
            assert f"tables/{table['model']}.jsonl" in explained
            assert all(f"  {column}: " in explained for row in rows[:1] for column in row)
        photos = {one["name"] for one in said["files"]}
        assert photos
        assert all(archive.read(name)[:4] for name in photos)
        entries = [json.loads(line) for line in archive.read("tables/jobs.logentry.jsonl").splitlines()]
    assert len(entries) == LogEntry.objects.count()
    assert [one["id"] for one in entries] == sorted(one["id"] for one in entries)
    # RFC 3339, in UTC, with microseconds.
    assert entries[0]["at"].endswith("Z")
    assert len(entries[0]["at"]) == len("2026-03-02T09:30:00.000000Z")


def test_numbers_are_written_alike_whatever_the_database_makes_of_them() -> None:
    [kind] = [one.kind for one in columns_of(LongWork) if one.name == "asked"]
    # PostgreSQL's jsonb keeps numbers as decimals: no minus zero, no exponent (its manual, “JSON Types”).
    assert kind.write({"b": [-0.0, 1e16, 1.5], "a": None}) == {"b": [0.0, 10**16, 1.5], "a": None}
    assert str(kind.write(-0.0)) == "0.0"


def packed(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def unpacked(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def told_again(files: dict[str, bytes], change: Callable[[Any], None]) -> None:
    said = json.loads(files["manifest.json"])
    change(said)
    files["manifest.json"] = json.dumps(said).encode()


def with_digest(files: dict[str, bytes], name: str, content: bytes) -> None:
    """As somebody would who knows the format."""
    files[name] = content

    def change(said: Any) -> None:
        for one in (*said["tables"], *said["files"]):
            if one["name"] == name:
                one |= {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}

    told_again(files, change)


CUSTOMERS = "tables/shop.customer.jsonl"


def _swap_word(files: dict[str, bytes]) -> None:
    files[CUSTOMERS] = files[CUSTOMERS].replace(b"Ada", b"Eda").replace(b"a", b"e", 1)


def _climb_out(files: dict[str, bytes]) -> None:
    files["files/../../climbed.jpg"] = b"x"
    told_again(files, lambda said: said["files"].append(held("files/../../climbed.jpg", b"x")))


def _absolute(files: dict[str, bytes]) -> None:
    files["/etc/climbed"] = b"x"
    told_again(files, lambda said: said["files"].append(held("/etc/climbed", b"x")))


def held(name: str, content: bytes) -> dict[str, Any]:
    return {"name": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}


def _one_more(files: dict[str, bytes]) -> None:
    files["files/unnamed.jpg"] = b"x"


def _one_less(files: dict[str, bytes]) -> None:
    del files[CUSTOMERS]


def _bomb(files: dict[str, bytes]) -> None:
    files["files/bomb.jpg"] = b"\0" * 20_000_000


def _newer_format(files: dict[str, bytes]) -> None:
    told_again(files, lambda said: said.update(version=99))


def _newer_program(files: dict[str, bytes]) -> None:
    told_again(files, lambda said: said["migrations"]["shop"].append("9999_of_another_day"))


def _foreign(files: dict[str, bytes]) -> None:
    told_again(files, lambda said: said.update(format="a parts list"))


def _no_manifest(files: dict[str, bytes]) -> None:
    del files["manifest.json"]


def _no_json(files: dict[str, bytes]) -> None:
    files["manifest.json"] = b'{"format": '


def _wrong_type(files: dict[str, bytes]) -> None:
    rows = [json.loads(line) for line in files[CUSTOMERS].splitlines()]
    rows[0]["version"] = "one"
    with_digest(files, CUSTOMERS, b"".join(json.dumps(row, sort_keys=True).encode() + b"\n" for row in rows))


def _other_rows(files: dict[str, bytes]) -> None:
    """Lines that aren't written as the program writes them don't come back as they were given."""
    with_digest(files, CUSTOMERS, files[CUSTOMERS].replace(b'":', b'": '))


def _dangling(files: dict[str, bytes]) -> None:
    rows = [json.loads(line) for line in files["tables/jobs.photo.jsonl"].splitlines()]
    rows[0]["person_id"] = 987654
    lines = (json.dumps(row, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode() + b"\n" for row in rows)
    with_digest(files, "tables/jobs.photo.jsonl", b"".join(lines))


REFUSED: dict[str, tuple[Change, str]] = {
    "a word was changed": (_swap_word, "tables/shop.customer.jsonl isn't as it was when the archive was written"),
    "a name leads out": (_climb_out, "isn't the name of a photo of a shop"),
    "a name is absolute": (_absolute, "isn't the name of a file of an archive"),
    "something was put in": (_one_more, "What lies in the archive isn't what its manifest names"),
    "something was taken out": (_one_less, "What lies in the archive isn't what its manifest names"),
    "a bomb": (_bomb, "This file would unpack to far more than an archive of a shop holds"),
    "a newer format": (_newer_format, "This archive was written by a newer program"),
    "a newer program": (_newer_program, "which this one doesn't know. Bring this program up to date"),
    "another's": (_foreign, "This is no archive of a shop made by this program"),
    "no manifest": (_no_manifest, "This is no archive of a shop made by this program"),
    "half a manifest": (_no_json, "The archive's manifest.json can't be read"),
    "a value of another type": (_wrong_type, "Table shop.customer, row 1: version is no whole number"),
    "rows in another hand": (_other_rows, "Table shop.customer doesn't come back as it was given"),
    "a reference to nobody": (_dangling, "Nothing was changed."),
}
REACHES_THE_DATABASE = {"a value of another type", "rows in another hand", "a reference to nobody"}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_sound_archive_is_refused_and_changes_nothing(
    case: str, everything: bytes, tmp_path: Path, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    change, said = REFUSED[case]
    files = unpacked(everything)
    change(files)
    settings.MEDIA_ROOT = tmp_path / "arriving"
    monkeypatch.setattr(checking, "MOST_PACKED", 20)
    if case in REACHES_THE_DATABASE:
        emptied()
    before = Customer.objects.count()
    with pytest.raises(Unfit) as refused:
        read_in(in_file(tmp_path, packed(files)))
    assert said in re.sub(r"row \d+", "row 1", str(refused.value)), "which key a row has is the database's affair"
    assert Customer.objects.count() == before
    assert not [one for one in settings.MEDIA_ROOT.rglob("*") if one.is_file()] if settings.MEDIA_ROOT.exists() else True
    assert not (tmp_path / "climbed.jpg").exists()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.99, 0.9999])
def test_a_file_that_was_cut_off_is_refused(share: float, everything: bytes, tmp_path: Path) -> None:
    with pytest.raises(Unfit, match="no archive of a shop, or its end is cut off"):
        read_in(in_file(tmp_path, everything[: int(len(everything) * share)]))


def test_a_flipped_bit_is_seen(everything: bytes, tmp_path: Path) -> None:
    spoilt = bytearray(everything)
    spoilt[len(spoilt) // 3] ^= 1
    with pytest.raises(Unfit, match=r"isn't as it was|is cut off or damaged"):
        read_in(in_file(tmp_path, bytes(spoilt)))


def test_a_disk_that_is_too_small_is_told_before_anything_is_unpacked(
    everything: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checking, "ROOM_TO_SPARE", 10**18)
    with pytest.raises(Unfit, match="and the disk of .* has less room"):
        read_in(in_file(tmp_path, everything))


def test_a_shop_with_rows_is_never_written_over(everything: bytes, tmp_path: Path) -> None:
    with pytest.raises(Unfit, match=r"^This database isn't empty: there are .* in it. Nothing was changed."):
        read_in(in_file(tmp_path, everything))


def test_tables_of_another_state_are_refused() -> None:
    with pytest.raises(Unfit, match="The tables of this database are of another state than those to be read in"):
        refuse_unless_empty("default", {"shop": ["0001_of_another_day"]}, apps)


def test_what_one_database_keeps_and_the_other_refuses_is_named() -> None:
    columns = columns_of(Customer)
    row = line_of(columns, [getattr(Customer(name="x" * 300, pk=7, created_at=now()), one.field.attname) for one in columns])
    with pytest.raises(Unfit, match=r"Table shop.customer, row 7: name has 300 letters where \d+ are the most"):
        row_of(Customer, columns, row)
    with pytest.raises(Unfit, match="name holds a zero byte"):
        row_of(Customer, columns, row.replace(b"x" * 300, b"\\u0000"))


def test_a_transaction_under_way_is_its_own_moment() -> None:
    with snapshot() as alias:
        assert alias == "default"


def test_the_command_writes_reads_and_says_what_it_did(
    everything: bytes, tmp_path: Path, run_command: Callable[..., str]
) -> None:
    path = tmp_path / "out.zip"
    before = written_now()
    told = run_command("archive", "out", str(path))
    assert path.read_bytes() == before
    assert path.stat().st_mode & 0o077 == 0
    assert f"Written to {path}" in told
    assert "keep it as safe as your books" in told
    assert AccessEvent.objects.filter(kind="taken_out", note__endswith="by command").count() == 1
    with pytest.raises(CommandError, match="is there already and is left as it is. Give another name."):
        call_command("archive", "out", str(path))
    with pytest.raises(CommandError, match="can't be written"):
        call_command("archive", "out", str(tmp_path / "nowhere" / "out.zip"))
    with pytest.raises(CommandError, match="This database isn't empty"):
        call_command("archive", "in", str(path))
    with pytest.raises(CommandError, match="can't be read"):
        call_command("archive", "in", str(tmp_path / "none.zip"))
