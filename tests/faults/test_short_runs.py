"""The short form of each fault run, as its own process; the long ones have commands of their own."""

import re
import subprocess
import sys

import pytest

from tests.faults.ground import DATABASES, ROOT


def _databases(short: str) -> list[object]:
    """Both; the one that the suite's short form leaves out is marked as long."""
    return [pytest.param(name, marks=[] if name == short else [pytest.mark.long, pytest.mark.postgresql]) for name in DATABASES]


def _told(module: str, *words: str) -> str:
    """What a run says, which must have ended without a fault."""
    command = [sys.executable, "-m", f"tests.faults.{module}", *words]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=500)
    assert ended.returncode == 0, ended.stdout + ended.stderr
    return ended.stdout


def _figure(pattern: str, text: str) -> int:
    found = re.search(pattern, text)
    assert found is not None, text
    return int(found.group(1))


def test_nothing_acknowledged_is_lost_when_the_process_is_killed() -> None:
    told = _told("kill_while_working", "--rounds", "2")
    assert _figure(r"4 processes killed, (\d+) acts acknowledged, 0 faults", told) >= 4
    assert "verify: 0 differences" in told


@pytest.mark.postgresql
def test_nothing_acknowledged_is_lost_when_the_server_is_killed() -> None:
    assert (
        _figure(
            r"1 server kills, 2 processes cut off, (\d+) acts acknowledged, 0 faults", _told("kill_the_server", "--rounds", "1")
        )
        >= 2
    )


@pytest.mark.parametrize("database", _databases("sqlite"))
def test_many_at_once_lose_and_double_nothing(database: str) -> None:
    told = _told("eight_at_once", "--processes", "3", "--acts", "25", "--database", database)
    assert _figure(rf"{database}: 3 processes x 25 acts in \d+ s, (\d+) done, \d+ refused, 0 faults", told) >= 20


@pytest.mark.parametrize("database", _databases("postgresql"))
def test_a_form_sent_at_once_acts_once_and_no_editor_is_overwritten(database: str) -> None:
    told = _told("forms_at_once", "--posts", "11", "--races", "6", "--database", database)
    assert re.search(r"11 forms sent two or three times at once in \d+ s, 0 faults", told)
    assert re.search(r"6 races of two editors in \d+ s, 0 silent overwrites", told)


@pytest.mark.parametrize("database", _databases("sqlite"))
def test_a_copy_made_under_load_restores_and_holds_all_that_was_acknowledged(database: str) -> None:
    told = _told("backups", "--count", "2", "--whole-every", "2", "--database", database)
    assert _figure(r"2 copies made under load, each restored, (\d+) acts and 2 photos .* 0 faults", told) >= 2


def test_pictures_made_to_hurt_crash_nothing_and_leave_nothing_but_the_picture() -> None:
    assert re.search(r"60 pictures through two doors, peak \d+ MB, 0 faults", _told("hostile_pictures", "--count", "60"))


@pytest.mark.parametrize("database", _databases("sqlite"))
def test_an_act_that_the_power_cuts_off_is_there_wholly_or_not_at_all(database: str) -> None:
    words = ("--acts", "fit", "invoice", "--every", "17", "--verify-every", "500", "--database", database)
    told = _told("every_statement", *words)
    assert _figure(r"fit: \d+ moments, (\d+) deaths", told) >= 6
    assert _figure(r"invoice: \d+ moments, (\d+) deaths", told) >= 6
    assert f"{database}: 0 faults, verify: 0 differences" in told


@pytest.mark.postgresql
def test_a_connection_that_the_server_ends_is_told_and_the_form_acts_once_when_it_is_sent_again() -> None:
    told = _told("cut_off", "--short", "--every", "31")
    assert _figure(r"fit a part: cut off at \d+ of \d+ statements, (\d+) times told so", told) >= 2
    assert "4 pages read, 4 times sent something" in told
    assert told.endswith("0 faults\n")


@pytest.mark.parametrize("database", _databases("sqlite"))
def test_a_restore_that_is_killed_leaves_the_one_shop_or_the_other(database: str) -> None:
    told = _told("kill_while_restoring", "--every", "110", "--verify-every", "1000", "--database", database)
    assert _figure(rf"{database}: \d+ steps, (\d+) deaths, .* 0 faults", told) >= 2
