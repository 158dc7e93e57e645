"""How long the program takes to start, until its first page is there, and what serving then takes of memory."""

import http.cookiejar
import os
import re
import resource
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.speed.whole_shop.comparing import ROOT, Asked, Line

# What the invented shop is signed in to with (README.md).
OWNER, PASSWORD = "owner", "warm-heater-1958"
LONGEST_START, LONGEST_PAGE = 300, 120


def the_start(folders: dict[str, Path], rounds: int) -> Iterator[Line]:
    """`folders` by words for the shop. Memory is asked of Linux; elsewhere that line is missing."""
    small = list(folders.values())[-1]
    yield from _commands(small, rounds)
    for words, folder in folders.items():
        taken = [_first_page(folder) for _ in range(rounds)]
        clock, cpu = (min(one[at] for one in taken) for at in (0, 1))
        said = f"{clock:.2f} s by the clock, {cpu:.2f} s of the processor; the quickest of {rounds}"
        yield Line(f"start: serve, from its start to the first page, {words}", said, "", None)
    for words, folder in folders.items():
        yield from _served(folder, words)


def _commands(folder: Path, rounds: int) -> Iterator[Line]:
    taken = [_processor_seconds([sys.executable, "manage.py", "check"], folder) for _ in range(rounds)]
    framework = [sys.executable, "-c", "import django; from django.db import models"]
    bare = [_processor_seconds(framework, folder) for _ in range(rounds)]
    ratio = min(taken) / min(bare)
    words = f"{min(taken):.2f} s of the processor; {ratio:.1f} times importing the framework alone ({min(bare):.2f} s)"
    yield Line("start: manage.py check", words, "", None)


def the_memory(full: Asked, small: Asked) -> Iterator[Line]:
    ours, theirs = full("memory"), small("memory")
    words = f"{ours // 1024} MB; the small shop {theirs // 1024} MB"
    yield Line("memory of the measuring processes at most, after all that was asked above", words, "", None)


@dataclass(frozen=True, slots=True)
class _Server:
    address: str
    pid: int
    began: float

    def memory_mb(self) -> tuple[int, int]:
        """What it holds now, and the most it ever held."""
        told = Path(f"/proc/{self.pid}/status").read_text()
        now, most = (int(re.search(rf"^{name}:\s+(\d+) kB", told, re.MULTILINE)[1]) for name in ("VmRSS", "VmHWM"))  # type: ignore[index]
        return now // 1024, most // 1024


@contextmanager
def _serving(folder: Path) -> Iterator[_Server]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = {**os.environ, "SHOP_FOLDER": str(folder), "PYTHONUNBUFFERED": "1"}
    env.pop("DATABASE_URL", None)
    began = time.perf_counter()
    command = [sys.executable, "manage.py", "serve", "--port", str(port)]
    process = subprocess.Popen(command, cwd=ROOT, env=env, stdout=subprocess.DEVNULL)
    try:
        yield _Server(f"http://127.0.0.1:{port}", process.pid, began)
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _first_page(folder: Path) -> tuple[float, float]:
    """Seconds from the start to the first page that is there: by the clock, and of the processor with its ending."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with _serving(folder) as server:
        _wait_for(server)
        clock = time.perf_counter() - server.began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return clock, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _wait_for(server: _Server) -> None:
    while time.perf_counter() - server.began < LONGEST_START:
        try:
            with urllib.request.urlopen(f"{server.address}/sign-in/", timeout=LONGEST_PAGE) as answer:
                if answer.status == 200:
                    return
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.01)
    raise RuntimeError("the shop that is measured doesn't answer; see what it said above")


def _served(folder: Path, words: str) -> Iterator[Line]:
    worker = Asked(folder)
    try:
        pages = [address for _, address in worker("pages")["pages"]]
    finally:
        worker.close()
    with _serving(folder) as server:
        _wait_for(server)
        if not Path(f"/proc/{server.pid}/status").exists():
            return
        at_first = server.memory_mb()[0]
        opened = _open_all(server, pages)
        now, most = server.memory_mb()
    said = f"{most} MB at most, {now} MB afterwards, {at_first} MB after the first page; {opened} pages of {len(pages)} opened"
    yield Line(f"memory of the serving process, {words}", said, "", None)


def _open_all(server: _Server, pages: list[str]) -> int:
    """Signed in as the owner, each page once; gives how many answered 200."""
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
    form = browser.open(f"{server.address}/sign-in/", timeout=LONGEST_PAGE).read().decode()
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', form)
    assert token is not None
    typed = {"csrfmiddlewaretoken": token[1], "username": OWNER, "password": PASSWORD}
    sent = urllib.request.Request(f"{server.address}/sign-in/", urllib.parse.urlencode(typed).encode())
    browser.open(sent, timeout=LONGEST_PAGE).read()
    return sum(_opens(browser, server.address + page) for page in pages)


def _opens(browser: urllib.request.OpenerDirector, address: str) -> bool:
    try:
        with browser.open(address, timeout=LONGEST_PAGE) as answer:
            answer.read()
            return bool(answer.status == 200) and "/sign-in/" not in answer.url
    except (urllib.error.URLError, TimeoutError):
        return False


def _processor_seconds(command: list[str], folder: Path) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, cwd=ROOT, env={**os.environ, "SHOP_FOLDER": str(folder)}, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
