from pathlib import Path

import pytest

from shop.setup import debian, programs, selftest
from shop.setup.selftest import Options, read_options
from shop.setup.steps import Outcome, Step, run_step


def test_the_full_run_has_every_step() -> None:
    options = read_options([])
    assert [step.name for step in options.steps] == [
        "ruff",
        "format",
        "mypy",
        "imports",
        "migrations-sqlite",
        "migrations-postgresql",
        "tests-sqlite",
        "tests-postgresql",
    ]
    assert options.needs_programs
    assert not options.is_partial


def test_a_quick_run_needs_no_programs_and_is_called_partial() -> None:
    options = read_options(["--quick"])
    assert not any(step.server for step in options.steps)
    assert not options.needs_programs
    assert options.is_partial
    assert options.for_pytest == ("-m", "not browser and not postgresql and not ngspice")


def test_what_follows_the_dashes_goes_to_pytest() -> None:
    assert read_options(["--only", "tests-sqlite", "--", "-k", "drawers"]) == Options(False, ("tests-sqlite",), ("-k", "drawers"))


def test_an_unknown_step_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        read_options(["--only", "polish"])
    assert "invalid choice: 'polish'" in capsys.readouterr().err


def test_a_missing_program_fails_the_run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(programs, "get_missing", lambda: ["Chromium is missing. Run: sudo apt-get install chromium"])
    outcome = selftest._programs()
    assert not outcome.ok
    assert "Chromium is missing." in capsys.readouterr().out


def test_programs_that_apt_may_not_bring_are_lamented_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    nowhere = programs.Program("Chromium", lambda: None, ("chromium",), "install Chromium")
    monkeypatch.setattr(programs, "PROGRAMS", (nowhere,))
    monkeypatch.setattr(debian, "may_install", lambda: False)
    assert len(programs.get_missing()) == 1


def test_the_last_line_adds_tests_and_failed_steps(capsys: pytest.CaptureFixture[str]) -> None:
    outcomes = [Outcome("ruff", False, 1), Outcome("sqlite", True, 1, 40, 0), Outcome("postgresql", False, 1, 38, 2)]
    assert selftest._summarise(outcomes, read_options([]), 3) == 1
    assert capsys.readouterr().out.splitlines()[-1] == "78 passed, 3 failed"


def test_a_run_without_failures_exits_zero(capsys: pytest.CaptureFixture[str]) -> None:
    assert selftest._summarise([Outcome("sqlite", True, 1, 40, 0)], read_options([]), 1) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "40 passed, 0 failed"


def test_a_partial_run_says_so_before_its_last_line(capsys: pytest.CaptureFixture[str]) -> None:
    selftest._summarise([Outcome("sqlite", True, 1, 40, 0)], read_options(["--quick"]), 1)
    assert "THIS IS NOT THE FULL SELF-TEST" in capsys.readouterr().out.splitlines()[-2]


def test_skipped_tests_count_as_failed(tmp_path: Path) -> None:
    (tmp_path / "test_some.py").write_text("import pytest\ndef test_a(): pass\n@pytest.mark.skip\ndef test_b(): pass\n")
    plain = ("-m", "pytest", "-q", "-p", "no:django", "-p", "no:cacheprovider", "-c", "none.ini")
    (tmp_path / "none.ini").touch()
    outcome = run_step(Step("some", "Some", plain, tests=True), tmp_path, (), {})
    assert (outcome.ok, outcome.passed, outcome.failed) == (False, 1, 1)


def test_a_run_that_dies_before_its_report_is_one_failure(tmp_path: Path) -> None:
    outcome = run_step(Step("dies", "Dies", ("-c", "raise SystemExit(3)"), tests=True), tmp_path, (), {})
    assert (outcome.ok, outcome.failures) == (False, 1)
