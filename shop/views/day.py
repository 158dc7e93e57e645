"""The day of one person: which lists it has, in which order, and what each teaches while it is empty."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from inventory.queries.orders import late_lines
from jobs.models import WaitsFor
from jobs.queries.claim_list import undecided
from jobs.queries.collection import DEFER, uncollected
from shop.models import Role
from shop.views import day_bad_lots as of_bad_lots
from shop.views import day_lines as of_jobs
from shop.views import day_lists as rows
from shop.views import day_stock as of_stock
from shop.views.day_backups import copy_lines, late_copies
from shop.views.day_claims import claim_lines
from shop.views.day_keeping import ended_clocks, keeping_lines
from shop.views.day_lines import Desk, Line

LONGEST = 12


@dataclass(frozen=True, slots=True)
class Subject:
    """One list. `empty` says what would stand there; `note` is for whoever can act on one of its lines."""

    key: str
    title: str
    rows: Callable[[Desk], Any]
    lines: Callable[[Sequence[Any], Desk], list[Line]]
    empty: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A list as it is shown: `is_cut` where more is to be told than the page holds."""

    subject: Subject
    lines: list[Line]
    is_cut: bool

    @property
    def note(self) -> str:
        return self.subject.note if any(line.ways for line in self.lines) else ""


def _week(desk: Desk) -> Any:
    return rows.promised(desk.today + timedelta(days=1), desk.today + timedelta(days=rows.AHEAD_DAYS))


SUBJECTS = {
    one.key: one
    for one in (
        Subject(
            "backups",
            "Backups",
            late_copies,
            copy_lines,
            "Says when the last good copy of the shop is too old, or when one couldn’t be made.",
        ),
        Subject(
            "overdue",
            "Overdue",
            lambda desk: rows.promised(None, desk.today - timedelta(days=1)),
            of_jobs.promised_lines,
            "A set whose promised day has passed before it was ready.",
        ),
        Subject(
            "today",
            "Promised for today",
            lambda desk: rows.promised(desk.today, desk.today),
            of_jobs.promised_lines,
            "The day promised is written down at intake.",
        ),
        Subject("week", "Promised within the week", _week, of_jobs.promised_lines, "What falls due in the next seven days."),
        Subject(
            "approval",
            "Waiting for the customer’s answer",
            lambda desk: rows.waiting_for(WaitsFor.APPROVAL),
            of_jobs.approval_lines,
            "An estimate that was sent, until its answer is written down.",
        ),
        Subject(
            "part",
            "Waiting for a part",
            lambda desk: rows.waiting_for(WaitsFor.PART),
            of_jobs.part_lines,
            "A job of which somebody said at the benches that it waits for a part.",
        ),
        Subject(
            "payment",
            "Waiting for payment",
            lambda desk: rows.waiting_for(WaitsFor.PAYMENT),
            of_jobs.payment_lines,
            "A job that goes on once its customer has paid.",
        ),
        Subject(
            "somebody",
            "Waiting for somebody",
            lambda desk: rows.waiting_for(WaitsFor.PERSON),
            of_jobs.somebody_lines,
            "A job that can’t go on before somebody has said or done something.",
        ),
        Subject(
            "soak",
            "On soak",
            lambda desk: rows.on_soak(),
            of_jobs.soak_lines,
            "A set that runs its hours on the bench; here it says when they are over.",
        ),
        Subject(
            "ready",
            "Ready to collect",
            lambda desk: uncollected(),
            of_jobs.ready_lines,
            "A set whose soak is done, with the days it stands here and what the rules of the place let you do.",
            DEFER,
        ),
        Subject(
            "claims",
            "Back under warranty, not decided",
            lambda desk: undecided(),
            claim_lines,
            "A set that came back under the warranty of an earlier job, until somebody decides on its claim.",
        ),
        Subject(
            "estimates",
            "Estimates running out",
            lambda desk: rows.estimates_running_out(desk.today),
            of_jobs.estimate_lines,
            "An estimate with the customer whose standing days end within the week.",
        ),
        Subject(
            "clocks",
            "Clocks that run",
            lambda desk: rows.clocks(),
            of_jobs.clock_lines,
            "Whoever starts a clock on a job stands here until it is stopped; one left on over night is marked.",
        ),
        Subject(
            "returns",
            "Can go back to the supplier, not for long",
            lambda desk: rows.returns_ending(desk.today),
            of_stock.return_lines,
            "Parts that lie untested or unused in the last week in which their supplier takes them back.",
        ),
        Subject(
            "bad_lots",
            "Bad lots: owners to be told",
            lambda desk: of_bad_lots.untold(),
            of_bad_lots.untold_lines,
            "A lot that turned out bad, while an owner of a set it is in has had no letter.",
        ),
        Subject(
            "claim_back",
            "To be claimed from suppliers",
            of_bad_lots.claimable,
            of_bad_lots.claimable_lines,
            "A bad lot that its supplier still stands by and that nothing was claimed for.",
        ),
        Subject(
            "low",
            "Drawers running out",
            lambda desk: rows.running_out(),
            of_stock.low_lines,
            "A part of which less is free than its card says is to be kept.",
        ),
        Subject(
            "late",
            "Late from suppliers",
            lambda desk: late_lines(desk.today),
            of_stock.late_lines,
            "What is still to come on an order though its day has passed.",
        ),
        Subject("unpaid", "Unpaid", lambda desk: rows.unpaid(), of_stock.unpaid_lines, "An invoice on which something is due."),
        Subject(
            "keeping",
            "Time of keeping over",
            lambda desk: ended_clocks(desk.today, desk.terms),
            keeping_lines,
            "Customers whose papers no law wants kept with a name any more; the owner erases them.",
        ),
    )
}
# Who sees what, in which order: what that person can do something about comes first.
ORDER: dict[str, tuple[str, ...]] = {
    Role.COUNTER: (
        *("bad_lots", "overdue", "today", "ready", "approval", "claims", "estimates", "payment", "unpaid", "week"),
        *("somebody", "part", "late", "claim_back", "low", "soak", "clocks", "returns"),
    ),
    Role.BENCH: (
        *("clocks", "soak", "bad_lots", "overdue", "today", "claims", "week", "part", "returns", "claim_back", "late", "low"),
        *("somebody", "approval", "ready"),
    ),
    Role.OWNER: (
        *("backups", "bad_lots", "overdue", "today", "ready", "unpaid", "approval", "claims", "estimates", "clocks", "part"),
        *("late", "returns", "claim_back", "low", "week", "payment", "somebody", "soak", "keeping"),
    ),
}


def subjects_of(desk: Desk) -> list[Subject]:
    return [SUBJECTS[key] for key in ORDER[desk.person.role]]


def section_of(subject: Subject, desk: Desk) -> Section:
    found = list(subject.rows(desk)[: LONGEST + 1])
    return Section(subject, subject.lines(found[:LONGEST], desk), len(found) > LONGEST)


def sections(desk: Desk) -> tuple[list[Section], list[Subject]]:
    """The lists that have something to say, and those that don't."""
    all_of_them = [section_of(subject, desk) for subject in subjects_of(desk)]
    return [one for one in all_of_them if one.lines], [one.subject for one in all_of_them if not one.lines]
