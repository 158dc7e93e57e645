"""The line in a page's head while something of this person's is under way: the session remembers what, so that pages of those
who started nothing ask the database for nothing.
"""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from shop.clock import now
from shop.long_work.finding import UNDER_WAY, is_lost
from shop.long_work.kinds import kind_of
from shop.models import LongWork, WorkState

SESSION = "long_works"
MOST_REMEMBERED = 20
MARKS = {
    WorkState.WAITING: ("wait", "Waiting its turn"),
    WorkState.RUNNING: ("open", "Under way"),
    WorkState.DONE: ("done", "Done"),
    WorkState.STOPPED: ("note", "Stopped"),
    WorkState.FAILED: ("no", "Failed"),
}


@dataclass(frozen=True, slots=True)
class ShownWork:
    """A work as pages show it; one that was lost with its process shows as failed, though nobody wrote that down yet."""

    work: LongWork
    is_lost: bool

    @property
    def state(self) -> str:
        return WorkState.FAILED if self.is_lost else self.work.state

    @property
    def is_under_way(self) -> bool:
        return self.state in UNDER_WAY

    @property
    def may_start_anew(self) -> bool:
        return self.state in (WorkState.STOPPED, WorkState.FAILED)

    @property
    def mark(self) -> tuple[str, str]:
        if self.is_under_way and self.work.stop_asked:
            return "wait", "Stopping"
        return MARKS[WorkState(self.state)]

    @property
    def how_far(self) -> str:
        """`2 of 40 papers drawn`; empty before anybody knows how many there are."""
        kind = kind_of(self.work.kind)
        counted = kind.counted if kind else "done"
        return f"{self.work.done} of {self.work.total} {counted}" if self.work.total else ""


def shown(work: LongWork) -> ShownWork:
    return ShownWork(work, is_lost(work, now()))


def remember(request: HttpRequest, work: LongWork) -> None:
    kept = [str(work.key), *request.session.get(SESSION, ())]
    request.session[SESSION] = kept[:MOST_REMEMBERED]


def forget_ended(request: HttpRequest) -> None:
    """Called where the person sees the works themselves: the head needn't tell of those that are over any more."""
    kept = request.session.get(SESSION)
    if not kept:
        return
    left = [str(one.work.key) for one in remembered(request) if one.is_under_way]
    if left:
        request.session[SESSION] = left
    else:
        del request.session[SESSION]


def remembered(request: HttpRequest) -> list[ShownWork]:
    """One query where the session remembers something, none otherwise."""
    session: Any = getattr(request, "session", None)
    kept = session.get(SESSION) if session is not None else None
    if not kept:
        return []
    return [shown(work) for work in LongWork.objects.filter(key__in=kept)]
