"""Several processes that answer at one port, for a shop with many benches: watched by the one that started them.

They share the listening socket, so the system hands each visit to one that is free. One that dies is started anew. All end with
Ctrl+C, with SIGTERM, and when the one that watches is killed: each hears its end of a pipe close. Nothing is forked, so it works
on every system.
"""

import _thread
import contextlib
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import connection as pipes
from multiprocessing import get_context
from typing import Any

MOST = 16
NAMED = "SHOP_PROCESSES"
# Which of them this is, from 1.
NUMBERED = "SHOP_PROCESS"
SECONDS_TO_END = 20
# One that dies sooner didn't get to work; so many of them on end, and starting more is no use.
YOUNG_SECONDS, MOST_YOUNG = 10.0, 5
Say = Callable[[str], None]

_context = get_context("spawn")


class NoneStays(Exception):
    """Process after process died as soon as it was started."""


@dataclass(slots=True)
class Hand:
    """A process that answers. Closing `line` tells it to end."""

    process: Any
    line: pipes.Connection
    began: float

    @classmethod
    def started(cls, bound: socket.socket, number: int) -> "Hand":
        theirs, ours = _context.Pipe(duplex=False)
        process = _context.Process(target=work, args=(bound, theirs, number), name=f"answers {number}")
        process.start()
        theirs.close()
        return cls(process, ours, time.monotonic())

    def let_go(self) -> None:
        with contextlib.suppress(OSError):
            self.line.close()

    def end(self) -> None:
        self.process.join(SECONDS_TO_END)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()


def watch(bound: socket.socket, count: int, say: Say) -> None:
    """Keep `count` processes answering until this one is asked to end. Raises NoneStays."""
    os.environ[NAMED] = str(count)
    usual = signal.signal(signal.SIGTERM, _interrupt)
    hands: list[Hand] = []
    try:
        hands += (Hand.started(bound, at + 1) for at in range(count))
        _keep(hands, bound, say)
    except KeyboardInterrupt:
        pass
    finally:
        signal.signal(signal.SIGTERM, usual)
        for one in hands:
            one.let_go()
        for one in hands:
            one.end()


def _interrupt(number: int, frame: Any) -> None:
    raise KeyboardInterrupt


def _keep(hands: list[Hand], bound: socket.socket, say: Say) -> None:
    young = 0
    while True:
        pipes.wait([one.process.sentinel for one in hands])
        for at, one in enumerate(hands):
            if one.process.is_alive():
                continue
            one.let_go()
            young = young + 1 if time.monotonic() - one.began < YOUNG_SECONDS else 0
            if young >= MOST_YOUNG:
                raise NoneStays
            say(f"One of the {len(hands)} processes ended by itself (code {one.process.exitcode}); another takes its place.")
            sys.stdout.flush()
            hands[at] = Hand.started(bound, at + 1)


def work(bound: socket.socket, line: pipes.Connection, number: int) -> None:
    """In the new process: answer until the watcher closes the line, or is gone."""
    os.environ[NUMBERED] = str(number)
    import django

    django.setup()
    from shop.management.serving import answer

    threading.Thread(target=_listen, args=(line,), name="line", daemon=True).start()
    # Whoever asks a process of its own to end, ends it in good order, too.
    signal.signal(signal.SIGTERM, _interrupt)
    with contextlib.suppress(KeyboardInterrupt):
        answer(bound)


def _listen(line: pipes.Connection) -> None:
    with contextlib.suppress(OSError, EOFError):
        line.recv()
    # Not SIGINT: that one is ignored where a shell started all this in the background.
    _thread.interrupt_main(signal.SIGTERM)
