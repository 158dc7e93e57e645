"""Uploads that break off, are spoilt on the way or made to swell, through every door that takes files, by bare sockets.

    .venv/bin/python -m tests.faults.broken_uploads --count 500 [--database postgresql]

A real server answers. A trace in its log, an answer of 500, a file that stays in the shop's folder or among the system's
temporary ones although nothing was accepted, a server that doesn't answer afterwards: each is a fault, and any makes the exit
code 1. (RFC 9112, 8: incomplete messages; RFC 7578: multipart/form-data; CWE-409: highly compressed data.)
"""

import argparse
import http.client
import io
import logging
import os
import random
import socket
import struct
import sys
import tempfile
import threading
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shop.web.logs import OneLine
from tests.faults.ground import DATABASES, differences, ground, say
from tests.journeys.forms import ShownForm, forms_on

BOUNDARY = "----as-a-browser-writes-it-7d1b3c"
ANSWERS_WITHIN_SECONDS = 60
SWELLS_TO = 300_000_000
Parts = list[tuple[str, str, bytes]]
# What the program keeps of itself beside the shop's things.
NOT_COUNTED = ("shop.sqlite3", ".lock", "shop.log")


@dataclass(frozen=True)
class Sent:
    """`body` as it goes out; `length` as the head says; `leaves`: the sender goes away before anything is answered."""

    body: bytes
    kind: str
    length: int
    leaves: bool = False


@dataclass
class Told:
    answers: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


class Traces(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.setFormatter(OneLine())
        self.seen: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """As the shop's own log would have it."""
        if '"trace"' in self.format(record) and record.exc_info:
            self.seen.append(f"{type(record.exc_info[1]).__name__}: {record.exc_info[1]}"[:200])


def multipart(parts: Parts, boundary: str = BOUNDARY) -> bytes:
    """`parts`: name, file name (empty for a plain field), content."""
    lines = []
    for name, file, content in parts:
        named = f'; filename="{file}"' if file else ""
        lines.append(f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"{named}\r\n\r\n'.encode() + content + b"\r\n")
    return b"".join(lines) + f"--{boundary}--\r\n".encode()


def _whole(body: bytes) -> Sent:
    return Sent(body, f"multipart/form-data; boundary={BOUNDARY}", len(body))


def goes_away(parts: Parts, rng: random.Random) -> Sent:
    body = multipart(parts)
    return Sent(body[: rng.randrange(len(body))], f"multipart/form-data; boundary={BOUNDARY}", len(body), leaves=True)


def cut_short(parts: Parts, rng: random.Random) -> Sent:
    body = multipart(parts)
    return _whole(body[: rng.randrange(len(body))])


def bytes_swapped(parts: Parts, rng: random.Random) -> Sent:
    body = bytearray(multipart(parts))
    for _ in range(rng.choice((1, 8, 200))):
        body[rng.randrange(len(body))] = rng.randrange(256)
    return _whole(bytes(body))


def wrong_boundary(parts: Parts, rng: random.Random) -> Sent:
    body = multipart(parts)
    other = rng.choice(["other", "", BOUNDARY[:-1], "x" * 300, "\u00e9", '"'])
    return Sent(body, f"multipart/form-data; boundary={other}" if other else "multipart/form-data", len(body))


def wrong_kind(parts: Parts, rng: random.Random) -> Sent:
    body = multipart(parts)
    return Sent(body, rng.choice(["application/x-www-form-urlencoded", "application/json", "text/plain", ""]), len(body))


def without_end(parts: Parts, rng: random.Random) -> Sent:
    return _whole(multipart(parts).removesuffix(f"--{BOUNDARY}--\r\n".encode()))


def swelling(parts: Parts, rng: random.Random) -> Sent:
    """A small file that wants to be a large one: as a workbook, a packed list, a picture."""
    with io.BytesIO() as packed:
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/worksheets/sheet1.xml", "w") as file:
            for _ in range(SWELLS_TO // 10_000_000):
                file.write(bytes(10_000_000))
        bomb = packed.getvalue()
    vast = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0) + bytes(4)
    return _files(parts, rng.choice([("list.xlsx", bomb), ("list.zip", bomb), ("front.png", vast)]))


def odd_name(parts: Parts, rng: random.Random) -> Sent:
    name = rng.choice(["../../secret.key", "/etc/passwd", "a\\b.png", "." * 300, "n" * 5_000 + ".png", "x%00.png", ".."])
    return _files(parts, (name, b"not a picture, nor a list"))


def many_fields(parts: Parts, rng: random.Random) -> Sent:
    return _whole(multipart([*parts, *((f"f{number}", "", b"x") for number in range(3_000))]))


def nothing_in_it(parts: Parts, rng: random.Random) -> Sent:
    return _files(parts, ("front.png", b""))


SORTS: tuple[Callable[[Parts, random.Random], Sent], ...] = (
    goes_away, cut_short, bytes_swapped, wrong_boundary, wrong_kind, without_end, swelling, odd_name, many_fields, nothing_in_it,
)  # fmt: skip


def _files(parts: Parts, file: tuple[str, bytes]) -> Sent:
    return _whole(multipart([(name, file[0], file[1]) if old else (name, old, content) for name, old, content in parts]))


def doors(shop: Any) -> list[str]:
    from django.urls import reverse

    from tests.house.one_of_everything import samples
    from tests.house.pages import addresses

    wanted = (
        *("jobs:photos", "jobs:intake", "jobs:called_for_import", "jobs:service_sheets", "inventory:price_list_new"),
        *("inventory:lot_photos", "shop:customer_cards"),
    )
    some = ((one.name, samples(shop, one.route, one.name)[:1]) for one in addresses() if one.name in wanted)
    return [reverse(name, kwargs=arguments) for name, samples_of in some for arguments in samples_of]


class Browser:
    """Speaks to the server as bytes, with the cookies of somebody who signed in."""

    def __init__(self, port: int, session: str) -> None:
        self.port, self.cookies = port, {"sessionid": session}

    def get(self, page: str) -> str:
        asked = http.client.HTTPConnection("127.0.0.1", self.port, timeout=ANSWERS_WITHIN_SECONDS)
        asked.request("GET", page, headers={"Cookie": self._cookie()})
        answer = asked.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie" and value.startswith("csrftoken="):
                self.cookies["csrftoken"] = value.partition(";")[0].partition("=")[2]
        html = answer.read().decode()
        asked.close()
        return html

    def _cookie(self) -> str:
        return "; ".join(f"{name}={value}" for name, value in self.cookies.items())

    def send(self, action: str, sent: Sent) -> int:
        """The status; 0 where the sender went away, or the server hung up without a word."""
        head = f"POST {action} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {self._cookie()}\r\nConnection: close\r\n"
        head += f"Content-Type: {sent.kind}\r\nContent-Length: {sent.length}\r\n\r\n"
        with socket.create_connection(("127.0.0.1", self.port), timeout=ANSWERS_WITHIN_SECONDS) as wire:
            wire.sendall(head.encode() + sent.body)
            if sent.leaves:
                wire.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                return 0
            answer = b""
            while piece := wire.recv(65_536):
                answer += piece
        return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/") else 0


@contextmanager
def served() -> Iterator[int]:
    """The port of a server in this process, as the shop's own."""
    from waitress.server import create_server  # type: ignore[import-untyped]

    from shop.wsgi import application

    server = create_server(application, host="127.0.0.1", port=0, threads=2, ident=None)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield server.effective_port
    finally:
        server.close()


def parts_of(form: ShownForm) -> Parts:
    from tests.pictures import a_picture

    picture = a_picture()
    plain = [(name, "", value.encode()) for name, values in form.values.items() if name not in form.files for value in values]
    # The browser's token stands first on the page, and so in what is sent.
    return [*plain, *((name, "front.png", picture) for name in form.files)]


def files_in(*folders: Path) -> set[str]:
    return {
        str(path)
        for folder in folders
        for path in folder.rglob("*")
        if path.is_file() and not any(one in path.name for one in NOT_COUNTED)
    }


def run(shop: Any, session: str, count: int, seed: int, scratch: Path) -> Told:
    from django.conf import settings

    rng, told, traces = random.Random(seed), Told(), Traces()
    logging.getLogger().addHandler(traces)
    logging.getLogger("django").addHandler(traces)
    places = (Path(settings.SHOP_FOLDER), scratch)
    with served() as port:
        browser = Browser(port, session)
        forms = [form for page in doors(shop) for form in forms_on(page, browser.get(page)) if form.files]
        before = files_in(*places)
        for number in range(count):
            form, make = forms[number // len(SORTS) % len(forms)], SORTS[number % len(SORTS)]
            status = browser.send(form.action, make(parts_of(form), rng))
            told.answers[str(status or "none")] += 1
            there = files_in(*places)
            wrong = [f"answered {status}"] if status >= 500 else []
            wrong += [f"a trace: {one}" for one in traces.seen]
            wrong += [f"left {Path(one).name}" for one in there - before] if status >= 400 or not status else []
            told.faults += [f"{number} {make.__name__} to {form.action}: {one}" for one in wrong]
            before = there
            traces.seen.clear()
        if "Today" not in browser.get("/"):
            told.faults.append("the server doesn't answer any more")
    return told


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    parser.add_argument("--seed", type=int, default=4711)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="shop-uploads-") as scratch, ground(options.database):
        os.environ["TMPDIR"], tempfile.tempdir = scratch, scratch
        from tests.faults.bad_inputs import a_standing_shop, signed_in

        with a_standing_shop() as shop:
            session = signed_in(shop)[0].cookies["sessionid"].value
            told = run(shop, session, options.count, options.seed, Path(scratch))
        left = differences()
    say(*(f"{one}\n" for one in (*told.faults[:30], *left)))
    answers = ", ".join(f"{count} x {status}" for status, count in sorted(told.answers.items()))
    say(f"{options.database}: {options.count} uploads ({answers}), {len(told.faults)} faults, verify: {len(left)} differences")
    return 1 if told.faults or left else 0


if __name__ == "__main__":
    sys.exit(main())
