"""The daily copy: made when it is due, by one of several, with its trouble told; and the thread that looks."""

import threading
from pathlib import Path
from typing import Any

import pytest

from shop.backup import keeper, standing
from shop.backup.copies import DAILY
from shop.backup.making import Wanted
from shop.backup.places import turn
from shop.backup.running import last_trouble
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.long_work.now_and_then import NowAndThen
from tests.builders import a_profile
from tests.conftest import StillClock


@pytest.fixture
def place(db: None, still_clock: StillClock, settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    a_profile()
    settings.BACKUP_FOLDER = str(tmp_path / "copies")
    monkeypatch.setattr(standing, "is_due", lambda at: True)
    return tmp_path / "copies"


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[Wanted]:
    """What was asked to be copied; nothing is."""
    asked: list[Wanted] = []

    def note(place: Path, wanted: Wanted, **more: Any) -> None:
        asked.append(wanted)

    monkeypatch.setattr(keeper, "back_up_in_turn", note)
    return asked


def test_it_is_made_when_it_is_due_and_not_before(place: Path, made: list[Wanted], monkeypatch: pytest.MonkeyPatch) -> None:
    assert keeper.copy_if_due()
    assert [one.why for one in made] == [DAILY]
    monkeypatch.setattr(standing, "is_due", lambda at: False)
    assert not keeper.copy_if_due()
    assert len(made) == 1


def test_somebody_else_who_copies_just_now_is_left_to_it(place: Path, made: list[Wanted]) -> None:
    with turn():
        assert not keeper.copy_if_due()
    assert made == []
    assert last_trouble() is None, "that another copies is no trouble"


def test_what_went_wrong_is_told_and_a_stop_is_not(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(code: str) -> None:
        def broken(*_: Any, **__: Any) -> None:
            raise Trouble("There is no room.", code=code)

        monkeypatch.setattr(keeper, "back_up_in_turn", broken)

    fail(keeper.CLOSING)
    assert not keeper.copy_if_due()
    assert last_trouble() is None
    fail("")
    assert not keeper.copy_if_due()
    told = last_trouble()
    assert told is not None
    assert (told.text, told.at) == ("There is no room.", now())


def test_a_copy_that_is_under_way_stops_when_the_program_does(monkeypatch: pytest.MonkeyPatch) -> None:
    keeper._stop_when_closing(1, 2)
    monkeypatch.setattr(keeper._watch, "_closing", threading.Event())
    keeper._watch._closing.set()
    with pytest.raises(Trouble, match="The next start makes another"):
        keeper._stop_when_closing(1, 2)


def test_the_thread_looks_again_after_whatever_went_wrong_and_ends_when_it_is_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shop.long_work.now_and_then.connections.close_all", lambda: None)
    looks, again = [], threading.Event()

    def look() -> None:
        looks.append(threading.current_thread().name)
        if len(looks) > 2:
            again.set()
        raise ZeroDivisionError

    failed: list[str] = []
    watch = NowAndThen("look of a test", look, lambda: failed.append("told"), first_seconds=0, every_seconds=0)
    watch.open_up()
    watch.open_up()
    assert again.wait(20)
    watch.close_down()
    assert watch.is_closing
    assert set(looks) == {"look of a test"}
    assert len(failed) == len(looks)
    seen = len(looks)
    watch.close_down()
    assert len(looks) == seen
