"""A full disk, write-protected books, a lost database: nothing is half done, what was typed stays, and it is told what to do."""

import errno
import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection, transaction
from django.test import Client
from django.urls import reverse

from jobs.models import Photo
from jobs.services.labour import start_clock, stop_clock
from shop.acts import Refused
from shop.clock import now
from shop.management.writable import say_what_hinders
from shop.models import Customer, Staff
from shop.web.hindrances import BUSY, CUT_OFF, DISK, FULL, READ_ONLY, Hindrance, hindrance_of
from tests.builders import a_job, a_profile, an_invoice, some_work
from tests.conftest import StillClock
from tests.inventory.builders import once, texts
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db


@contextmanager
def full() -> Iterator[None]:
    """SQLite's file may not grow."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # pages that other tests left free would take a while to fill
        cursor.execute("PRAGMA page_count")
        cursor.execute(f"PRAGMA max_page_count = {cursor.fetchone()[0]}")
        try:
            yield
        finally:
            cursor.execute("PRAGMA max_page_count = 1073741823")


@contextmanager
def write_protected() -> Iterator[None]:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL transaction_read_only = on")  # until the test is rolled back
            yield
            return
        cursor.execute("PRAGMA query_only = ON")
        try:
            yield
        finally:
            cursor.execute("PRAGMA query_only = OFF")


def a_note() -> dict[str, str]:
    typed = {"name": "Wilmot <Asketh>", "phone": "", "email": "", "address": "", "note": "rings twice " * 12}
    return {"once": once(), **typed}


@pytest.mark.looks
@pytest.mark.django_db(transaction=True)  # a full file ends the whole transaction
def test_a_full_disk_keeps_what_was_typed_until_there_is_room(owner_client: Client) -> None:
    a_profile()
    typed, address = a_note(), reverse("shop:customer_new")
    with full():
        for number in range(200):
            sent = {**typed, "once": once(), "name": f"Wilmot <Asketh> {number}"}
            answer = owner_client.post(address, sent)
            if answer.status_code != 302:
                break
    kept = Customer.objects.count()
    assert answer.status_code == 507
    page = texts(answer)
    assert "The disk is full" in page
    assert "Free some room on its disk, then send it again." in page
    assert 'name="name" value="Wilmot &lt;Asketh&gt; ' in page
    assert owner_client.post(address, sent).status_code == 302
    assert Customer.objects.count() == kept + 1


def test_write_protected_books_can_be_read_and_say_so_where_something_is_sent(owner_client: Client) -> None:
    a_profile()
    said: list[str] = []
    address, typed = reverse("shop:customer_new"), a_note()
    # What is still to be checked at the end of the test's transaction would be locked then, which read-only forbids.
    connection.check_constraints()
    with write_protected():
        read = [
            owner_client.get(page).status_code
            for page in ("/", reverse("shop:customers"), reverse("billing:invoices") + "?shown=all")
        ]
        answer = owner_client.post(address, typed)
        say_what_hinders(said.append)
    assert read == [200, 200, 200]
    assert answer.status_code == 503
    assert "Nothing can be written just now" in texts(answer)
    assert "rings twice" in texts(answer)
    assert said[0].startswith("Nothing can be written just now: the shop can be looked at, but nothing can be written. Whoever")


def send_photo(client: Client) -> Any:
    job = a_job()
    sent = {"once": once(), "caption": "as found", "photos": SimpleUploadedFile("front.png", a_picture(), "image/png")}
    return client.post(reverse("jobs:photos", args=[job.pk]), sent)


@pytest.mark.parametrize("sign", [errno.ENOSPC, errno.EDQUOT])
def test_a_photo_that_the_disk_has_no_room_for_leaves_neither_row_nor_file(
    owner_client: Client, settings: Any, monkeypatch: pytest.MonkeyPatch, sign: int
) -> None:
    def no_room(*args: object) -> None:
        raise OSError(sign, os.strerror(sign))

    monkeypatch.setattr("shop.pictures.storage.os.fsync", no_room)
    answer = send_photo(owner_client)
    assert answer.status_code == 507
    assert 'name="caption" value="as found"' in texts(answer)
    assert "Chosen files can’t be kept: go back and choose them again." in texts(answer)
    assert not Photo.objects.exists()
    assert [one for one in Path(settings.MEDIA_ROOT).rglob("*") if one.is_file()] == []


def test_a_disk_that_really_is_full_leaves_neither_row_nor_file(owner_client: Client, settings: Any, tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8k", "tmpfs", str(small)], capture_output=True)
    if mounted.returncode:
        pytest.skip("a small disk can't be mounted here")
    try:
        settings.MEDIA_ROOT = small
        (small / "fills").write_bytes(bytes(8192))
        answer = send_photo(owner_client)
        assert answer.status_code == 507
        assert not Photo.objects.exists()
        assert [one.name for one in small.rglob("*") if one.is_file()] == ["fills"]
    finally:
        subprocess.run(["umount", str(small)], check=True)


def test_a_file_goes_with_the_transaction_that_fails_and_stays_with_the_one_that_does_not() -> None:
    def fail() -> None:
        assert default_storage.exists(default_storage.save("found/one.txt", ContentFile(b"one")))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        transaction.atomic(fail)()
    assert not default_storage.exists("found/one.txt")
    with transaction.atomic():
        place = default_storage.save("found/two.txt", ContentFile(b"two"))
    assert default_storage.open(place).read() == b"two"
    assert default_storage.listdir("found") == ([], ["two.txt"])


def test_a_database_that_is_lost_while_who_asks_is_looked_up_is_told_in_words(
    owner_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def lost(*args: object) -> None:
        raise OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.load", lost)
    owner_client.raise_request_exception = False
    answer = owner_client.post(reverse("shop:customer_new"), a_note())
    assert answer.status_code == 503
    assert "The connection to the shop’s database broke off" in texts(answer)
    assert "rings twice" in texts(answer)


class Coded(Exception):
    """As a driver's error: SQLite gives a name, PostgreSQL a code."""

    def __init__(self, name: str = "", state: str = "") -> None:
        super().__init__("said in another language")
        self.sqlite_errorname, self.sqlstate = name, state


# Names from https://www.sqlite.org/rescode.html, codes from https://www.postgresql.org/docs/current/errcodes-appendix.html
@pytest.mark.parametrize(
    ("name", "state", "found"),
    [
        ("SQLITE_BUSY_SNAPSHOT", "", BUSY),
        ("SQLITE_FULL", "", FULL),
        ("SQLITE_READONLY_DIRECTORY", "", READ_ONLY),
        ("SQLITE_IOERR_WRITE", "", DISK),
        ("", "53100", FULL),
        ("", "25006", READ_ONLY),
        ("", "57P01", CUT_OFF),
        ("", "08006", CUT_OFF),
        ("", "40P01", BUSY),
        ("", "23505", None),
        ("SQLITE_CONSTRAINT_UNIQUE", "", None),
    ],
)
def test_hindrances_go_by_their_codes(name: str, state: str, found: Hindrance | None) -> None:
    error = OperationalError("said in another language")
    error.__cause__ = Coded(name, state)
    assert hindrance_of(error) is found


def test_no_paper_gets_a_day_before_the_last_one_unsaid(owner_client: Client, owner: Staff, still_clock: StillClock) -> None:
    first = an_invoice(a_job("ready"))
    job = a_job("repairing")
    some_work(job)
    still_clock.forward(days=-40)
    page = texts(owner_client.get(reverse("billing:issue", args=[job.pk])))
    assert "The clock of the shop’s computer says 21 January 2026, but R-2026-0001 bears the date 2 March 2026." in page
    credit = texts(owner_client.get(reverse("billing:credit", args=[first.pk])))
    assert "If the clock is wrong, set it right first" in credit


def test_a_clock_of_work_never_runs_backwards(owner: Staff, still_clock: StillClock) -> None:
    timer = start_clock(a_job("repairing"), step="repair", person=owner, at=now())
    with pytest.raises(Refused, match="set back since this clock was started"):
        stop_clock(timer, person=owner, at=now() - timedelta(hours=3))
