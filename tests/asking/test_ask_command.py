"""`python3 manage.py ask` as another program starts it: a process of its own, lines in, lines out, no database."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from shop.asking.manual import example_line
from shop.asking.verbs import VERBS

ROOT = Path(__file__).resolve().parents[2]


def run(*words: str, given: str = "", folder: Path, console: str = "ascii") -> subprocess.CompletedProcess[str]:
    """With a database that nobody can reach: the door must not even try."""
    surroundings = {**os.environ, "SHOP_FOLDER": str(folder), "DATABASE_URL": "postgres://nobody:x@127.0.0.1:1/none"}
    surroundings["PYTHONIOENCODING"] = console
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "ask", *words],
        input=given,
        capture_output=True,
        encoding="utf-8",
        env=surroundings,
        timeout=60,
        check=False,
    )


def test_every_example_is_answered_and_the_exit_code_is_0_though_one_line_is_refused(tmp_path):
    lines = [example_line(verb) for verb in VERBS.values()]
    ran = run(given="\n".join([*lines, "not a question", ""]), folder=tmp_path)
    answers = [json.loads(line) for line in ran.stdout.splitlines()]
    assert ran.returncode == 0, ran.stderr
    assert [one["ok"] for one in answers] == [True] * len(lines) + [False]
    assert not (tmp_path / "shop.sqlite3").exists()


def test_help_documents_every_name_with_an_example_and_its_answer(tmp_path):
    ran = run("--help", folder=tmp_path, console="utf-8")
    assert ran.returncode == 0
    for verb in VERBS.values():
        assert f"\n{verb.name}\n" in ran.stdout
        assert example_line(verb) in ran.stdout
    assert ran.stdout.count('"ok": true') >= len(VERBS)


def test_help_survives_a_console_without_the_ohm_sign(tmp_path):
    ran = run("--help", folder=tmp_path)
    assert ran.returncode == 0
    assert "read_notation" in ran.stdout


def test_nothing_in_gives_nothing_out(tmp_path):
    ran = run(folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (0, "")


@pytest.mark.parametrize("verb", VERBS.values(), ids=lambda verb: verb.name)
def test_every_name_says_what_it_takes_and_gives(verb):
    assert verb.takes
    assert verb.gives
    assert verb.example


def test_the_readme_shows_what_the_door_says(tmp_path):
    shown = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    asked = [at for at, line in enumerate(shown) if line.strip().startswith("$ echo '{") and line.endswith("manage.py ask")]
    assert asked
    for at in asked:
        question = shown[at].split("'")[1]
        assert run(given=question + "\n", folder=tmp_path).stdout.strip() == shown[at + 1].strip()
