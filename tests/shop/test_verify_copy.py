"""`manage.py verify --copy` looks a copy through wherever it lies, and touches nothing of the shop."""

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError

from shop.backup import packing, scratch
from shop.management.commands.verify import age
from tests.conftest import MONDAY, StillClock
from tests.shop.some_copies import a_copy

pytestmark = pytest.mark.django_db
Run = Callable[..., str]


@pytest.fixture
def looked_through(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """The program's own commands on the restored copy are told and not run: its database here is a small one made by hand."""
    asked: list[tuple[Any, ...]] = []

    def run(*words: Any) -> scratch.Ran:
        asked.append(words)
        return scratch.Ran(0, "0 differences\n", "")

    monkeypatch.setattr(scratch, "run", run)
    return asked


def files_in(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_whole_copy_is_told_with_its_age_and_sums_and_is_left_as_it_was(
    tmp_path: Path, run_command: Run, still_clock: StillClock, looked_through: list[tuple[Any, ...]]
) -> None:
    copy = a_copy(tmp_path, MONDAY - timedelta(days=9))
    before = files_in(tmp_path)
    said = run_command("verify", "--copy", str(copy.folder))
    assert "as it was on 21 February 2026 at 09:30 UTC, 9 days ago." in said
    assert "Looked at: 3 files, 1 photos, rows and sums of 1 tables, the database file itself," in said
    assert said.splitlines()[-1].endswith("0 faults")
    assert [words[0] for words in looked_through] == ["verify"]
    assert not Path(looked_through[0][1]).exists()
    assert files_in(tmp_path) == before


def test_a_copy_that_rotted_is_a_fault_and_says_what_to_do(
    tmp_path: Path, run_command: Run, looked_through: list[tuple[Any, ...]]
) -> None:
    copy = a_copy(tmp_path, MONDAY)
    (copy.folder / "photos/jobs/2026/03/a.jpg").write_bytes(b"rot")
    with pytest.raises(SystemExit):
        run_command("verify", "--copy", str(copy.folder))


def test_a_copy_in_one_file_is_unpacked_elsewhere(
    tmp_path: Path, run_command: Run, looked_through: list[tuple[Any, ...]]
) -> None:
    copy = a_copy(tmp_path / "own", MONDAY)
    file = tmp_path / "copy.tar"
    names = [str(path.relative_to(copy.folder)) for path in copy.folder.rglob("*") if path.is_file()]
    file.write_bytes(b"".join(packing.packed(copy, names)))
    assert run_command("verify", "--copy", str(file)).splitlines()[-1].endswith("0 faults")
    assert [path.name for path in tmp_path.iterdir() if path != copy.folder.parent] == ["copy.tar"]


@pytest.mark.parametrize("kept", [0, 1, 511, 512, 700, 5_000])
def test_half_a_copy_in_one_file_is_refused_and_leaves_nothing(
    tmp_path: Path, run_command: Run, kept: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path / "scratch"))
    monkeypatch.setattr("tempfile.tempdir", None)
    (tmp_path / "scratch").mkdir()
    copy = a_copy(tmp_path / "own", MONDAY)
    names = [str(path.relative_to(copy.folder)) for path in copy.folder.rglob("*") if path.is_file()]
    (tmp_path / "half.tar").write_bytes(b"".join(packing.packed(copy, names))[:kept])
    with pytest.raises(CommandError):
        run_command("verify", "--copy", str(tmp_path / "half.tar"))
    assert os.listdir(tmp_path / "scratch") == []


def test_what_is_no_copy_is_refused_in_words(tmp_path: Path, run_command: Run) -> None:
    with pytest.raises(CommandError, match="There is nothing at .*gone. Name the folder of a copy"):
        run_command("verify", "--copy", str(tmp_path / "gone"))
    (tmp_path / "empty").mkdir()
    with pytest.raises(CommandError, match="is no copy of a workshop: it has no manifest.json"):
        run_command("verify", "--copy", str(tmp_path / "empty"))


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (20, "less than an hour ago"),
        (80, "an hour ago"),
        (47 * 60, "47 hours ago"),
        (48 * 60, "2 days ago"),
        (-5, "which is still to come: the computer’s clock is wrong, or was when the copy was made"),
    ],
)
def test_its_age_is_told_as_people_say_it(minutes: int, said: str) -> None:
    assert age(MONDAY, MONDAY + timedelta(minutes=minutes)) == said
