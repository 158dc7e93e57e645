"""Counts the keys of a whole sheet entered through the real page, against the characters of writing the same by hand.

    .venv/bin/python -m tests.speed.keystrokes

A sheet of 40 positions (bench_notes.csv), each with what was found, what the meter reads and the decision, in Chromium by
keyboard alone. A key is every press, Enter and Shift among them. By hand, one line a position, single spaces, the line's end not
counted: designator, what was found, the reading, the verdict, the decision, and why where there is a reason. Counted twice: a
thrifty hand writes a ditto mark for the part that is called for, and “ok”, “leave”, “repl”; a plain hand writes all of it out.
"""

import csv
import os
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

NOTES = Path(__file__).with_name("bench_notes.csv")
LONGEST_WAIT_MS = 60_000
WITH_SHIFT = set('~!@#$%^&*()_+{}|:"<>?ABCDEFGHIJKLMNOPQRSTUVWXYZ')
Note = dict[str, str]
THRIFTY = {"within": "ok", "keep": "leave", "replace": "repl", "repair": "mend", "remove": "out"}
PLAIN = {"within": "within tolerance", "keep": "leave in", "repair": "repair in place"}


def notes() -> list[Note]:
    with NOTES.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def by_hand(note: Note, words: dict[str, str], *, ditto: bool) -> str:
    found = '"' if ditto and note["found"] == note["called"] else note["found"]
    verdict, decision = (words.get(note[name], note[name]) for name in ("verdict", "decision"))
    return " ".join(part for part in (note["place"], found, note["measured"], verdict, decision, note["why"]) if part)


class Keyboard:
    """Presses keys of the page one by one and counts them, with a Shift for each sign that needs it on a plain keyboard."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.pressed = 0

    def press(self, key: str) -> None:
        self.pressed += 2 if key in WITH_SHIFT else 1
        self.page.keyboard.press(key) if len(key) > 1 else self.page.keyboard.type(key)

    def line(self, text: str) -> None:
        for sign in text:
            self.press(sign)
        self.press("Enter")


class Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class Silent(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        pass


@contextmanager
def served_shop() -> Iterator[tuple[str, Any, str]]:
    """A shop of its own in a folder that goes away: its address, the job with an empty sheet, the cookie of its repairer."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"SHOP_FOLDER": folder, "DJANGO_ALLOW_ASYNC_UNSAFE": "true"}
        os.environ.pop("DATABASE_URL", None)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
        import django  # the settings are read from the environment made here

        django.setup()
        from django.core.handlers.wsgi import WSGIHandler
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        job, cookie = _empty_sheet()
        server = make_server("127.0.0.1", 0, WSGIHandler(), server_class=Server, handler_class=Silent)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}", job, cookie
        server.shutdown()


def _empty_sheet() -> tuple[Any, str]:
    from django.test import Client

    from jobs.models import Stage
    from jobs.services.called_for import CalledRow
    from tests import builders as make

    rows = [CalledRow(note["place"], note["role"], note["called"]) for note in notes()]
    job = make.a_job(Stage.INSPECTING, model=make.a_model("Corncrake 7", supply_kind="transformer", rows=rows), with_fit=False)
    client = Client()
    client.force_login(make.a_staff())
    return job, client.cookies["sessionid"].value


def type_everything(address: str, job: Any, cookie: str) -> int:
    """The keys pressed until the whole sheet stands in the log."""
    from django.urls import reverse
    from playwright.sync_api import expect, sync_playwright

    from shop.setup.programs import find_chromium
    from tests.browser.chromium import ARGUMENTS

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        page = browser.new_page(base_url=address, viewport={"width": 1280, "height": 860})
        page.context.add_cookies([{"name": "sessionid", "value": cookie, "url": address}])
        page.goto(reverse("jobs:change_log", args=[job.pk]))
        expect(page.locator("#line_line")).to_be_focused()
        keyboard = Keyboard(page)
        for note in notes():
            keyboard.line(note["line"])
        for _ in range(LONGEST_WAIT_MS // 100):
            if not page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('line-waiting')).length"):
                break
            page.wait_for_timeout(100)
        print(*(told for told in page.locator("[data-line-waiting]").all_inner_texts() if told))
        browser.close()
    return keyboard.pressed


def differences(job: Any) -> list[str]:
    """Where the log doesn't hold exactly what was meant: one line each."""
    from jobs.queries.sheet import sheet_of

    wrong, count = [], 0
    for row, note in zip(sheet_of(job).rows, notes(), strict=True):
        found, measured, decided = row.found, row.measured, row.decided
        held = (
            row.position.designator,
            found.text if found else "",
            measured.text if measured else "",
            measured.verdict if measured else "",
            row.decision,
            decided.note if decided else "",
        )
        meant = tuple(note[name] for name in ("place", "found", "measured", "verdict", "decision", "why"))
        count += sum(1 for text in (note["found"], note["measured"], note["decision"]) if text)
        if held != meant:
            wrong.append(f"meant {meant}, held {held}")
    if job.entries.count() != count:
        wrong.append(f"{job.entries.count()} entries in the log, {count} were meant")
    return wrong


def main() -> int:
    with served_shop() as (address, job, cookie):
        pressed, wrong = type_everything(address, job, cookie), differences(job)
    listed = notes()
    print(f"{len(listed)} positions, each with what was found, the reading and the decision")
    print(f"keys pressed, Enter and Shift among them: {pressed}, {pressed / len(listed):.1f} a position")
    for name, words, ditto in (("a thrifty hand", THRIFTY, True), ("a plain hand", PLAIN, False)):
        signs = sum(len(by_hand(note, words, ditto=ditto)) for note in listed)
        print(f"characters of {name}: {signs}; keys against them: {pressed / signs:.2f}")
    print("the log holds exactly what was meant" if not wrong else "\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
