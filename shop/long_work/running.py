"""Running what was asked for, in threads of the serving process. Each has a connection of its own and closes it.

A work is claimed by a conditional UPDATE, so of two processes on one database only one gets it. Every later write asks that the
work is still under way, so a process that was counted as lost (a machine that slept) writes nothing over another go.
"""

import logging
import threading
from dataclasses import dataclass, field

from django.conf import settings
from django.core.files import File
from django.db import DatabaseError, connections, transaction

from shop.access import may
from shop.acts import Refused
from shop.clock import now
from shop.long_work.clearing import mark_lost, sweep
from shop.long_work.finding import LOST, living_works
from shop.long_work.kinds import Kind, Made, kind_of
from shop.long_work.progress import GivenUp, Progress, Stopped
from shop.models import LongWork, WorkState
from shop.web.hindrances import hindrance_of

log = logging.getLogger("shop.long_work")
BEAT_SECONDS = 15
LOOK_AGAIN_SECONDS = 5
CLOSING_SECONDS = 5
FAULT = "A fault in the program ended this early. Start it again; if that fails too, the program's log says more."


@dataclass(slots=True)
class _Floor:
    """The threads of this process. It is closed until somebody serves: a command or a test never starts a thread by accident."""

    is_open: bool = False
    was_woken: bool = False
    threads: set[threading.Thread] = field(default_factory=set)
    lock: threading.Lock = field(default_factory=threading.Lock)
    closing: threading.Event = field(default_factory=threading.Event)


_floor = _Floor()


def open_up() -> None:
    """From now on this process works; what waits since before is taken up."""
    _floor.is_open = True
    _floor.closing.clear()
    wake()


def close_down() -> None:
    """Ask all to give up, and wait a moment for them to say so."""
    _floor.is_open = False
    _floor.closing.set()
    for thread in list(_floor.threads):
        thread.join(CLOSING_SECONDS)


def wake() -> None:
    with _floor.lock:
        _floor.was_woken = True
        if _floor.is_open and len(_floor.threads) < settings.LONG_WORK_AT_ONCE:
            thread = threading.Thread(target=_work_through, name="long work", daemon=True)
            _floor.threads.add(thread)
            thread.start()


def _work_through() -> None:
    """Until nothing waits. Where something waits for others to end, look again after a while: they may have died."""
    try:
        while not _floor.closing.is_set():
            if _run_next():
                continue
            if LongWork.objects.filter(state=WorkState.WAITING).exists():
                _floor.closing.wait(LOOK_AGAIN_SECONDS)
            elif _is_last_look():
                return
    except DatabaseError:
        log.exception("long work could not be looked for")
    finally:
        with _floor.lock:
            _floor.threads.discard(threading.current_thread())
        connections.close_all()


def _is_last_look() -> bool:
    """False where something was asked for since this thread looked: it must look again."""
    with _floor.lock:
        woken, _floor.was_woken = _floor.was_woken, False
        if not woken:
            _floor.threads.discard(threading.current_thread())
        return not woken


def _run_next() -> bool:
    at = now()
    mark_lost(at)
    sweep(at)
    work = _claim_next()
    if work is None:
        return False
    with _Pulse(work):
        _run(work)
    return True


def run_waiting() -> int:
    """Here and now, one after another, until nothing can be taken up; how many ran."""
    count = 0
    while (work := _claim_next()) is not None:
        _run(work)
        count += 1
    return count


def run_claimed(work: LongWork) -> LongWork:
    """One that was claimed by this process, here and now; as it stands afterwards."""
    with _Pulse(work):
        _run(work)
    work.refresh_from_db()
    return work


def _claim_next() -> LongWork | None:
    """The one that waits longest, unless as many as may are under way; between processes it may now and then be one more."""
    with _floor.lock, transaction.atomic():
        if living_works(now()).count() >= settings.LONG_WORK_AT_ONCE:
            return None
        waiting = LongWork.objects.filter(state=WorkState.WAITING).order_by("pk").values_list("pk", flat=True)
        claimed = next((pk for pk in list(waiting[:50]) if claim(pk)), None)
    return LongWork.objects.select_related("person").get(pk=claimed) if claimed else None


def claim(pk: int) -> bool:
    """Whether this process got it: of all that try, one does."""
    waiting = LongWork.objects.filter(pk=pk, state=WorkState.WAITING)
    return bool(waiting.update(state=WorkState.RUNNING, heard_at=now(), done=0))


class _Pulse:
    """Gives signs of life beside a worker, which may be silent for long within one statement."""

    def __init__(self, work: LongWork) -> None:
        self._pk, self._over = work.pk, threading.Event()
        self._thread = threading.Thread(target=self._beat, name="long work pulse", daemon=True)

    def _beat(self) -> None:
        try:
            while not self._over.wait(BEAT_SECONDS):
                LongWork.objects.filter(pk=self._pk, state=WorkState.RUNNING).update(heard_at=now())
        except DatabaseError:
            log.warning("no sign of life could be given", exc_info=True)
        finally:
            connections.close_all()

    def __enter__(self) -> "_Pulse":
        self._thread.start()
        return self

    def __exit__(self, *fault: object) -> None:
        self._over.set()


def _run(work: LongWork) -> None:
    kind, progress = kind_of(work.kind), Progress(work, now, _floor.closing.is_set)
    try:
        if kind is None or not may(work.person, *kind.roles):
            raise Refused("Whoever asked for this may not have it any more.")
        _keep(work, kind.worker(work, progress), progress)
    except GivenUp:
        _end(work, progress, WorkState.FAILED, LOST)
    except Stopped:
        _end(work, progress, WorkState.STOPPED, _stopped(progress, kind))
    except Refused as refused:
        _end(work, progress, WorkState.FAILED, refused.message)
    except Exception as fault:
        log.exception("long work %s (%s) failed", work.key, work.kind)
        found = hindrance_of(fault)
        _end(work, progress, WorkState.FAILED, f"{found.seen} {found.do} Then start it again." if found else FAULT)
    finally:
        progress.file.close()


def _stopped(progress: Progress, kind: Kind | None) -> str:
    far = f"{progress.done} of {progress.total}" if progress.total else str(progress.done)
    return f"Stopped after {far} {kind.counted}. {kind.once_stopped}" if kind else "Stopped."


def _keep(work: LongWork, made: Made, progress: Progress) -> None:
    progress.done = progress.total = max(progress.total, progress.done)
    if made.file_name:
        progress.file.seek(0)
        ending = made.file_name.rpartition(".")[2]
        work.result.save(f"{work.key}.{ending}", File(progress.file), save=False)
    kept = {"result": work.result.name or "", "result_name": made.file_name[:160]}
    if not _end(work, progress, WorkState.DONE, made.said, **kept) and made.file_name:
        work.result.delete(save=False)


def _end(work: LongWork, progress: Progress, state: str, said: str, **kept: str) -> bool:
    facts = {"state": state, "message": said[:400], "done": progress.done, "total": progress.total, "ended_at": now(), **kept}
    return bool(LongWork.objects.filter(pk=work.pk, state=WorkState.RUNNING).update(**facts))
