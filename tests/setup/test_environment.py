"""The checkout's `.venv`, with the slow parts (making it, filling it) played by stand-ins that record what was asked."""

import sys
from pathlib import Path

import pytest

from shop.setup import environment, packages
from shop.setup.console import Problem
from shop.setup.lock_files import RUN_LOCK, TEST_LOCK


class Workman:
    """Makes an environment that has a Python, and may be stopped before it has filled it."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.acts: list[str] = []
        self.stopped = False

    def make_venv(self, venv: Path) -> None:
        self.acts.append("make")
        python = environment.python_of(self.root)
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()

    def install_lock(self, python: Path, lock: Path, handle: int) -> None:
        if self.stopped:
            raise KeyboardInterrupt
        self.acts.append(f"fill {lock.name}")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / RUN_LOCK).write_text("django==5.2 \\\n    --hash=sha256:00\n")
    (tmp_path / TEST_LOCK).write_text("django==5.2 \\\n    --hash=sha256:00\npytest==9.0 \\\n    --hash=sha256:01\n")
    return tmp_path


@pytest.fixture
def workman(root: Path, monkeypatch: pytest.MonkeyPatch) -> Workman:
    workman = Workman(root)
    monkeypatch.setattr(packages, "make_venv", workman.make_venv)
    monkeypatch.setattr(packages, "install_lock", workman.install_lock)
    return workman


def test_a_bare_checkout_gets_an_environment_once(root: Path, workman: Workman) -> None:
    assert environment.prepare(root, RUN_LOCK) == environment.python_of(root)
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == ["make", f"fill {RUN_LOCK}"]


def test_a_changed_list_is_installed_into_what_is_there(root: Path, workman: Workman) -> None:
    environment.prepare(root, RUN_LOCK)
    (root / RUN_LOCK).write_text("django==5.3 \\\n    --hash=sha256:00\n")
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == ["make", f"fill {RUN_LOCK}", f"fill {RUN_LOCK}"]


def test_line_ends_of_another_system_are_no_change(root: Path, workman: Workman) -> None:
    environment.prepare(root, RUN_LOCK)
    (root / RUN_LOCK).write_bytes((root / RUN_LOCK).read_bytes().replace(b"\n", b"\r\n"))
    assert environment.is_finished(root, RUN_LOCK)


def test_a_killed_set_up_is_made_afresh(root: Path, workman: Workman) -> None:
    workman.stopped = True
    with pytest.raises(KeyboardInterrupt):
        environment.prepare(root, RUN_LOCK)
    workman.stopped = False
    half_written = environment.folder(root) / "half-written"
    half_written.touch()
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == ["make", "make", f"fill {RUN_LOCK}"]
    assert not half_written.exists()


def test_the_test_list_finishes_the_running_list_too(root: Path, workman: Workman) -> None:
    environment.prepare(root, TEST_LOCK)
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == ["make", f"fill {TEST_LOCK}"]


def test_an_environment_made_by_hand_is_filled_and_never_emptied(root: Path, workman: Workman) -> None:
    workman.make_venv(environment.folder(root))
    somebodys = environment.folder(root) / "somebody's"
    somebodys.touch()
    workman.acts.clear()
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == [f"fill {RUN_LOCK}"]
    assert somebodys.exists()


def test_a_broken_environment_made_by_hand_is_left_to_its_maker(root: Path, workman: Workman) -> None:
    environment.folder(root).mkdir()
    (environment.folder(root) / "somebody's").touch()
    with pytest.raises(Problem, match="was not made by this program.\nDelete it and start again."):
        environment.prepare(root, RUN_LOCK)


def test_a_folder_that_cannot_be_written_is_named_as_such(root: Path, workman: Workman) -> None:
    (root / ".shop").write_text("in the way")
    with pytest.raises(Problem, match="Setting this folder up failed."):
        environment.prepare(root, RUN_LOCK)


def test_an_environment_left_behind_by_the_system_python_is_remade(
    root: Path, workman: Workman, monkeypatch: pytest.MonkeyPatch
) -> None:
    environment.prepare(root, RUN_LOCK)
    monkeypatch.setattr(sys, "prefix", str(environment.folder(root)))
    assert environment.may_run_as_is(root, RUN_LOCK)
    (environment.folder(root) / environment.BEGUN).write_text("Made by Python 3.2.\n")
    assert not environment.may_run_as_is(root, RUN_LOCK)
    environment.prepare(root, RUN_LOCK)
    assert workman.acts == ["make", f"fill {RUN_LOCK}"] * 2
