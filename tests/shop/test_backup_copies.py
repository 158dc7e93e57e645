"""Copies on the disk: taken while others write, shared, checked, packed, carried, put in place."""

import hashlib
import os
import shutil
import sqlite3
import tarfile
import threading
from contextlib import closing
from pathlib import Path

import pytest

from shop.backup import packing, photos, second_place, swapping
from shop.backup.copies import copies_in, read_copy, spoilt_in
from shop.backup.locks import held
from shop.backup.places import clear_leftovers, turn
from shop.backup.proving import files_spoilt
from shop.backup.sqlite_file import ask_of, copy_to, faults_in, opened
from shop.backup.sums import differences, sums_of
from shop.backup.troubles import Trouble
from tests.conftest import MONDAY
from tests.shop.some_copies import a_copy


def no_tell(done: int, total: int) -> None:
    return


class TestDatabase:
    def test_what_others_write_meanwhile_neither_stops_them_nor_spoils_the_copy(self, tmp_path: Path) -> None:
        source = tmp_path / "live.sqlite3"
        with closing(sqlite3.connect(source)) as live, live:
            live.execute("CREATE TABLE coins (id integer PRIMARY KEY, sum integer)")
            live.execute("CREATE TABLE halves (id integer PRIMARY KEY, sum integer)")
            live.executemany("INSERT INTO coins (sum) VALUES (?)", [(1,)] * 100_000)
        over, written = threading.Event(), []

        def write() -> None:
            with closing(sqlite3.connect(source, timeout=30)) as mine:
                while not over.is_set():
                    with mine:
                        mine.execute("INSERT INTO coins (sum) VALUES (3)")
                        mine.execute("INSERT INTO halves (sum) VALUES (3)")
                    written.append(3)

        writer = threading.Thread(target=write)
        writer.start()
        try:
            copy_to(source, tmp_path / "copy.sqlite3")
        finally:
            over.set()
            writer.join()
        with opened(tmp_path / "copy.sqlite3") as copy:
            sums = sums_of(ask_of(copy), "sqlite")
            assert faults_in(copy) == []
        assert written
        assert sums["coins"]["rows"] == 100_000 + sums["halves"]["rows"]
        assert os.stat(tmp_path / "copy.sqlite3").st_mode & 0o077 == 0

    def test_a_row_that_names_none_and_a_spoilt_page_are_found(self, tmp_path: Path) -> None:
        path = tmp_path / "bad.sqlite3"
        with closing(sqlite3.connect(path)) as made, made:
            made.execute("CREATE TABLE lots (id integer PRIMARY KEY)")
            made.execute("CREATE TABLE movements (id integer PRIMARY KEY, lot integer REFERENCES lots (id))")
            made.execute("INSERT INTO movements VALUES (1, 7)")
        with opened(path) as file:
            assert faults_in(file) == ["movements: row 1 names a row of lots that isn't there"]

    def test_a_sum_that_differs_is_told_by_table_and_column(self) -> None:
        told = {"billing_payment": {"rows": 2, "amount_minor": 500}}
        found = {"billing_payment": {"rows": 2, "amount_minor": 499}}
        assert differences(told, told) == []
        assert differences(told, found) == ["billing_payment, amount_minor: 500 in the manifest, 499 in the copy"]


class TestPhotos:
    def shop(self, tmp_path: Path) -> Path:
        root = tmp_path / "live"
        for name in ("jobs/2026/03/a.jpg", "sheets/b.jpg", "work/2026/03/labels.pdf", "jobs/half.part"):
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(name.encode())
        return root

    def copied(self, root: Path, into: Path, earlier: Path | None = None) -> photos.Taken:
        into.mkdir()
        taken = photos.take(root, into, earlier, no_tell)
        photos.write_list(into, taken.files)
        return taken

    def test_results_of_long_work_and_half_files_stay_out(self, tmp_path: Path) -> None:
        self.copied(self.shop(tmp_path), tmp_path / "one")
        assert list(photos.read_list(tmp_path / "one")) == ["photos/jobs/2026/03/a.jpg", "photos/sheets/b.jpg"]

    def test_a_second_copy_takes_only_what_is_new_and_stands_alone(self, tmp_path: Path) -> None:
        root = self.shop(tmp_path)
        self.copied(root, tmp_path / "one")
        (root / "jobs/c.jpg").write_bytes(b"new")
        taken = self.copied(root, tmp_path / "two", tmp_path / "one")
        assert taken.bytes_new == 3
        shutil.rmtree(tmp_path / "one")
        assert list(photos.faults_in(tmp_path / "two")) == []

    def test_a_file_that_rotted_in_the_older_copy_is_read_from_the_shop_again(self, tmp_path: Path) -> None:
        root = self.shop(tmp_path)
        self.copied(root, tmp_path / "one")
        rotten = tmp_path / "one/photos/sheets/b.jpg"
        times = rotten.stat()
        rotten.write_bytes(b"X" * times.st_size)
        os.utime(rotten, ns=(times.st_atime_ns, times.st_mtime_ns))
        assert list(photos.faults_in(tmp_path / "one")) == ["photos/sheets/b.jpg isn't what it was when the copy was made"]
        self.copied(root, tmp_path / "two", tmp_path / "one")
        assert list(photos.faults_in(tmp_path / "two")) == []

    def test_where_files_cannot_be_shared_each_copy_is_whole(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def refuse(*_: object) -> None:
            raise OSError

        root = self.shop(tmp_path)
        self.copied(root, tmp_path / "one")
        monkeypatch.setattr(os, "link", refuse)
        taken = self.copied(root, tmp_path / "two", tmp_path / "one")
        assert not taken.shares
        assert taken.bytes_new == taken.bytes

    @pytest.mark.parametrize("name", ["photos/../../x", "/etc/passwd", "photos//x", "photos", "photos/a\\..\\b", "other/x"])
    def test_a_name_that_leads_out_of_the_copy_is_none(self, name: str) -> None:
        assert not photos.is_inside(name)


class TestPlace:
    def test_leftovers_go_and_whole_copies_stay(self, tmp_path: Path) -> None:
        kept = a_copy(tmp_path, MONDAY)
        for name in ("2026-03-01_09-00-00.part", "2026-03-01_09-00-00.going", "proof-abc"):
            (tmp_path / name).mkdir()
        (tmp_path / "holiday.part").mkdir()
        clear_leftovers(tmp_path)
        assert sorted(path.name for path in tmp_path.iterdir()) == [kept.name, "holiday.part"]

    def test_two_at_once_take_turns(self, settings, tmp_path: Path) -> None:
        settings.BACKUP_FOLDER = tmp_path / "copies"
        with turn(), pytest.raises(Trouble, match="A copy is being made or proven just now."), turn():
            pass

    def test_who_serves_together_shares_and_who_restores_wants_it_alone(self, tmp_path: Path) -> None:
        lock = tmp_path / "lock"
        with held(lock, shared=True) as one, held(lock, shared=True) as two, held(lock) as alone:
            assert (one, two, alone) == (True, True, False)

    def test_a_folder_without_its_manifest_is_told_and_is_no_copy(self, tmp_path: Path) -> None:
        copy = a_copy(tmp_path, MONDAY)
        (copy.folder / "manifest.json").write_text("{}")
        assert copies_in(tmp_path) == []
        assert spoilt_in(tmp_path) == [copy.name]
        with pytest.raises(Trouble, match="This is no copy of a workshop"):
            read_copy(copy.folder)

    def test_a_file_that_changed_or_went_is_named(self, tmp_path: Path) -> None:
        copy = a_copy(tmp_path, MONDAY)
        assert list(files_spoilt(copy)) == []
        (copy.folder / "secret.key").write_text("not-a-kez")
        copy.database_file.unlink()
        assert list(files_spoilt(copy)) == [
            "database.sqlite3 is missing or can't be read",
            "secret.key isn't what it was when the copy was made",
        ]


class TestAsOneFile:
    def packed(self, tmp_path: Path) -> Path:
        copy = a_copy(tmp_path / "place", MONDAY)
        names = packing.names_in(copy)
        path = tmp_path / "copy.tar"
        path.write_bytes(b"".join(packing.packed(copy, names)))
        assert path.stat().st_size == packing.size_of(copy, names)
        return path

    def test_it_comes_out_as_it_went_in(self, tmp_path: Path) -> None:
        path = self.packed(tmp_path)
        again = read_copy(packing.unpack(path, tmp_path / "out"))
        assert list(files_spoilt(again)) == list(photos.faults_in(again.folder)) == []
        # Any program that reads tar reads it: here Python's, which knows the size of what it holds.
        with tarfile.open(path) as archive:
            assert archive.getnames()[0] == f"{again.name}/manifest.json"

    def test_one_that_breaks_off_is_refused(self, tmp_path: Path) -> None:
        path = self.packed(tmp_path)
        path.write_bytes(path.read_bytes()[:1000])
        with pytest.raises(Trouble, match="This file is no copy of a workshop, or it was damaged on the way."):
            packing.unpack(path, tmp_path / "out")

    @pytest.mark.parametrize(
        "name", ["../x", "/x", "2026-03-02_09-30-00/../../x", "2026-03-02_09-30-00/photos/../../../x", "a/manifest.json"]
    )
    def test_names_that_lead_elsewhere_are_refused_and_write_nothing(self, tmp_path: Path, name: str) -> None:
        path = tmp_path / "bad.tar"
        with tarfile.open(path, "w") as archive:
            archive.addfile(tarfile.TarInfo(name))
        with pytest.raises(Trouble):
            packing.unpack(path, tmp_path / "out" / "deep")
        assert not (tmp_path / "out").exists()

    def test_a_link_in_it_is_refused(self, tmp_path: Path) -> None:
        path, link = tmp_path / "bad.tar", tarfile.TarInfo("2026-03-02_09-30-00/secret.key")
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
        with tarfile.open(path, "w") as archive:
            archive.addfile(link)
        with pytest.raises(Trouble):
            packing.unpack(path, tmp_path / "out")


class TestSecondPlace:
    def test_a_copy_is_carried_and_shares_with_those_there(self, tmp_path: Path) -> None:
        place = tmp_path / "stick"
        place.mkdir()
        second_place.choose(place)
        first = second_place.carry(a_copy(tmp_path / "own", MONDAY), place)
        second = second_place.carry(a_copy(tmp_path / "own", MONDAY), place)
        photo = "photos/jobs/2026/03/a.jpg"
        assert (first.folder / photo).stat().st_ino == (second.folder / photo).stat().st_ino
        assert second.is_good

    def test_a_stick_that_is_out_or_another_one_is_told(self, tmp_path: Path) -> None:
        copy = a_copy(tmp_path / "own", MONDAY)
        with pytest.raises(Trouble, match="isn't there. Put the stick in"):
            second_place.carry(copy, tmp_path / "gone")
        (tmp_path / "other").mkdir()
        with pytest.raises(Trouble, match="its mark is missing. See that the right stick is in"):
            second_place.carry(copy, tmp_path / "other")
        assert list((tmp_path / "other").iterdir()) == []

    def test_what_rotted_here_is_not_carried_there(self, tmp_path: Path) -> None:
        copy, place = a_copy(tmp_path / "own", MONDAY), tmp_path / "stick"
        place.mkdir()
        second_place.choose(place)
        (copy.folder / "photos/jobs/2026/03/a.jpg").write_bytes(b"rot")
        with pytest.raises(Trouble, match="can't be read back as it was"):
            second_place.carry(copy, place)
        assert [path.name for path in place.iterdir()] == [second_place.MARK]


class TestPuttingInPlace:
    def folders(self, tmp_path: Path) -> tuple[Path, Path]:
        staged = tmp_path / "restoring-1"
        for folder, word in ((tmp_path, "old"), (staged, "new")):
            (folder / "photos").mkdir(parents=True)
            (folder / "photos/a.jpg").write_text(word)
            (folder / "secret.key").write_text(word)
            (folder / "shop.sqlite3").write_text(word)
        (tmp_path / "shop.sqlite3-journal").write_text("old")
        swapping.begin(tmp_path, staged, tmp_path / "before-restore-1")
        return staged, tmp_path / "before-restore-1"

    def words(self, folder: Path) -> set[str]:
        return {
            path.read_text() for path in folder.rglob("*") if path.is_file() and "before" not in str(path.relative_to(folder))
        }

    @pytest.mark.parametrize("killed_at", range(6))
    def test_killed_between_two_moves_it_is_finished_at_the_next_start(
        self, tmp_path: Path, killed_at: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        _, aside = self.folders(tmp_path)
        replace, moves = os.replace, list[Path]()

        def one_more(source: Path, target: Path) -> None:
            if len(moves) == killed_at:
                raise KeyboardInterrupt
            moves.append(source)
            replace(source, target)

        monkeypatch.setattr(os, "replace", one_more)
        with pytest.raises(KeyboardInterrupt):
            swapping.finish(tmp_path)
        monkeypatch.setattr(os, "replace", replace)
        assert swapping.finish(tmp_path) == aside
        assert swapping.put_in_place(tmp_path) == ""
        swapping.tidied(tmp_path)
        assert swapping.put_in_place(tmp_path) is None
        assert self.words(tmp_path) == {"new"}
        assert sorted(path.name for path in aside.iterdir()) == ["photos", "secret.key", "shop.sqlite3", "shop.sqlite3-journal"]
        assert swapping.finish(tmp_path) is None

    def test_where_the_tables_never_came_into_the_server_the_shop_stays_as_it_was(self, tmp_path: Path) -> None:
        staged, _ = self.folders(tmp_path)
        swapping.begin(tmp_path, staged, tmp_path / "before-restore-1", mark=staged.name)
        assert swapping.finish(tmp_path, lambda mark: False) is None
        assert self.words(tmp_path) == {"old"}
        assert not staged.exists()

    def test_the_mark_that_is_asked_for_is_the_one_that_was_written_down(self, tmp_path: Path) -> None:
        staged, aside = self.folders(tmp_path)
        swapping.begin(tmp_path, staged, aside, mark=staged.name, note="2031-01-01_03-00-00, made by version 1")
        assert swapping.finish(tmp_path, lambda mark: mark == "restoring-1") == aside
        assert swapping.put_in_place(tmp_path) == "2031-01-01_03-00-00, made by version 1"


def test_the_list_of_photos_is_what_sha256sum_reads(tmp_path: Path) -> None:
    """The format is that of GNU coreutils, “sha256sum”: digest, two signs, name."""
    copy = a_copy(tmp_path, MONDAY, photos={"photos/a.jpg": b"abc"})
    # SHA-256 of “abc” as NIST's example has it (FIPS 180-4, examples with intermediate values).
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == digest
    assert (copy.folder / "photos.sha256").read_text() == f"{digest}  photos/a.jpg\n"
