import os
from pathlib import Path

import pytest

from shop.setup import environment, start
from shop.setup.console import Problem
from shop.setup.lock_files import RUN_LOCK, TEST_LOCK


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """A machine where nothing is installed yet; what is prepared and handed over is recorded."""
    asked: list[object] = []

    def prepare(root: Path, lock_name: str) -> Path:
        asked.append(lock_name)
        return Path("other-python")

    def change_over(python: Path, arguments: list[str]) -> int:
        asked.append(arguments)
        return 7

    monkeypatch.setattr(environment, "may_run_as_is", lambda root, lock_name: False)
    monkeypatch.setattr(environment, "prepare", prepare)
    monkeypatch.setattr(start, "change_over", change_over)
    return asked


def never(argv: list[str]) -> None:
    raise AssertionError(f"{argv} ran in the wrong interpreter")


def test_a_command_is_handed_over_with_its_arguments(asked: list[object]) -> None:
    assert start.start(["manage.py", "demo", "--once"], never) == 7
    assert asked == [RUN_LOCK, ["demo", "--once"]]


def test_the_self_test_asks_for_the_test_list(asked: list[object]) -> None:
    assert start.start(["manage.py", "selftest", "--quick"], never) == 7
    assert asked == [TEST_LOCK, ["selftest", "--quick"]]


def test_help_of_the_self_test_needs_no_set_up(asked: list[object], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        start.start(["manage.py", "selftest", "--help"], never)
    assert left.value.code == 0
    assert asked == []
    assert "--quick" in capsys.readouterr().out


def test_a_set_up_that_does_not_take_is_not_tried_for_ever(
    asked: list[object], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(start.CHANGED_OVER, "1")
    assert start.start(["manage.py", "demo"], never) == 1
    assert asked == []
    assert capsys.readouterr().err.endswith("doesn't work.\nDelete that folder and start again.\n")


def test_programs_started_by_a_command_do_not_inherit_the_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(start.CHANGED_OVER, "1")
    monkeypatch.setattr(environment, "may_run_as_is", lambda root, lock_name: True)
    seen: list[str | None] = []
    assert start.start(["manage.py", "check"], lambda argv: seen.append(os.environ.get(start.CHANGED_OVER))) == 0
    assert seen == [None]


@pytest.mark.parametrize(
    ("error", "code", "told"),
    [
        (Problem("No network.", "Connect it."), 1, "No network.\nConnect it.\n"),
        (KeyboardInterrupt(), 130, "Start it again to go on.\n"),
    ],
)
def test_an_expected_failure_shows_no_traceback(
    error: BaseException, code: int, told: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(root: Path, lock_name: str) -> bool:
        raise error

    monkeypatch.setattr(environment, "may_run_as_is", fail)
    assert start.start(["manage.py", "demo"], never) == code
    assert capsys.readouterr().err.endswith(told)
