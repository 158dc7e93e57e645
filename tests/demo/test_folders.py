"""Which shop a command works on: the demo's, one's own, or the one that SHOP_FOLDER names."""

import os
from pathlib import Path

import pytest

from shop.setup.folders import choose


@pytest.fixture(autouse=True)
def _nothing_given(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOP_FOLDER", "")
    monkeypatch.setenv("DATABASE_URL", "")


def _shop_in(root: Path, name: str) -> None:
    (root / ".shop" / name).mkdir(parents=True)
    (root / ".shop" / name / "shop.sqlite3").touch()


@pytest.mark.parametrize(
    ("command", "there", "folder"),
    [
        ("demo", (), "demo"),
        ("demo", ("own",), "demo"),
        ("start", ("demo",), "own"),
        ("serve", (), "own"),
        ("serve", ("own", "demo"), "own"),
        ("serve", ("demo",), "demo"),
        ("verify", ("demo",), "demo"),
    ],
)
def test_each_command_finds_its_shop(command: str, there: tuple[str, ...], folder: str, tmp_path: Path) -> None:
    for name in there:
        _shop_in(tmp_path, name)
    choose(tmp_path, command)
    assert os.environ["SHOP_FOLDER"] == str(tmp_path / ".shop" / folder)


def test_it_says_so_when_it_falls_back_on_the_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _shop_in(tmp_path, "demo")
    choose(tmp_path, "serve")
    assert capsys.readouterr().err == "There is no shop of your own yet, so this works on the demo.\n"


def test_a_database_server_holds_the_own_shop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _shop_in(tmp_path, "demo")
    monkeypatch.setenv("DATABASE_URL", "postgres://somebody@somewhere/shop")
    choose(tmp_path, "serve")
    assert os.environ["SHOP_FOLDER"] == str(tmp_path / ".shop" / "own")
    assert capsys.readouterr().err == ""


def test_a_given_folder_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOP_FOLDER", "/somewhere/else")
    choose(tmp_path, "demo")
    assert os.environ["SHOP_FOLDER"] == "/somewhere/else"
