"""What the code never does, whoever writes the next page: read off the files, so that no test of one page is needed for it.

Read as text: parsing every file costs the suite a minute where machines are slow.
"""

import re
from functools import cache
from pathlib import Path

from tests.house.checkout import ROOT

HOUSE = ("shop", "inventory", "jobs", "billing")
# Code that runs before or beside the program: it fetches packages and starts servers.
APART = "shop/setup/"
# They make text that is markup already, out of escaped pieces.
MARKUP = {"shop/paper/charts/svg.py", "shop/templatetags/paper_tags.py"}
# The one script that puts a piece of a page, escaped by the server, where its list stands.
PIECES = "shop/static/shop/js/typeahead.js"
# Their statements hold names of tables, made at start or by a command.
NAME_TABLES = ("shop/append_only.py", "shop/audit/", "shop/backup/", "shop/archive/", "shop/management/", "shop/demo/")


@cache
def _texts(ending: str) -> tuple[tuple[str, str], ...]:
    paths = (path for app in HOUSE for path in sorted((ROOT / app).rglob(f"*.{ending}")))
    named = ((path.relative_to(ROOT).as_posix(), path) for path in paths)
    return tuple((name, path.read_text("utf-8")) for name, path in named if not name.startswith(APART))


def _with(pattern: str, ending: str = "py", *, but: tuple[str, ...] = ()) -> list[str]:
    sought = re.compile(pattern, re.MULTILINE)
    return [f"{name}: {found[0]}" for name, text in _texts(ending) if not name.startswith(but) and (found := sought.search(text))]


def test_nothing_typed_is_run() -> None:
    """No text becomes code, no shell reads a command, nothing is unpacked into objects, no template is made of a text."""
    assert _with(r"(?<![\w.])(eval|exec|compile|__import__)\(|os\.(system|popen)\(|\bshell=|(?<!\w)Template\(") == []
    assert _with(r"^\s*(from|import) (pickle|marshal|shelve|dill|yaml)\b") == []


def test_the_shop_calls_nobody() -> None:
    """No request goes out, so nobody can make the shop fetch an address."""
    out = r"requests|httpx|aiohttp|urllib3|urllib\.request|http\.client|ftplib|smtplib|imaplib|xmlrpc|django\.core\.mail"
    assert _with(rf"^\s*(from|import) ({out})\b") == []


def test_no_sql_is_put_together_from_what_was_typed() -> None:
    assert _with(r"RawSQL|\.objects\.raw\(|\)\.extra\(|objects\.extra\(") == []
    assert _with(r"\.execute\(\s*f[\"']", but=NAME_TABLES) == []


def test_no_view_goes_without_its_csrf_token() -> None:
    assert _with(r"csrf_exempt") == []


def test_templates_escape_everything() -> None:
    """No `safe`, no `autoescape off`; in Python only what makes drawings and paragraphs marks its text as markup."""
    paths: list[Path] = sorted((ROOT / "templates").rglob("*.html"))
    unescaped = re.compile(r"\|\s*safe(seq)?\b|autoescape\s+off")
    assert [path.name for path in paths if unescaped.search(path.read_text("utf-8"))] == []
    assert _with(r"mark_safe\(", but=tuple(MARKUP)) == []


def test_forms_name_their_fields() -> None:
    """No form takes whatever columns a row has, so nothing is written that a page didn't ask for."""
    assert _with(r"^\s*(fields = [\"']__all__[\"']|exclude = )") == []


def test_scripts_write_text_as_text() -> None:
    """Nothing that a script was given becomes markup or code, and no message of another window is heard."""
    assert _with(r"\beval\(|new Function|document\.write|insertAdjacentHTML|outerHTML|postMessage|\"message\"", "js") == []
    assert _with(r"innerHTML", "js", but=(PIECES,)) == []


def test_no_secret_stands_in_the_code() -> None:
    """Keys are made at first start; the invented shop's password is printed where it is used."""
    found = _with(r"(SECRET_KEY|PASSWORD|TOKEN)\s*=\s*[\"'][^\"']{8,}[\"']\s*$")
    assert [one for one in found if "demo" not in one] == []
