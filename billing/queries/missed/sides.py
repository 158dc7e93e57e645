"""One job: what was agreed to against its bill, place by place, so that the reasons add up to the difference.

Estimates name no steps: where every line of time is called by a step's name, steps are compared, else all work by the hour as
one. Where only a sum was quoted for the work, as a fee, all work is held against it.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from billing.models import InvoiceLine, LineKind
from billing.queries.missed.figures import CREDITED, DEARER, DROPPED, FREE, HOURS, LATER, LUMP, Kinds, Miss
from inventory.components.roles import role as role_of
from jobs.models import EstimateLine, LabourEntry, Position, Step
from jobs.models.estimate import EstimateLineKind
from shop.search_text import fold

ALL_WORK, LUMP_WORK, LUMP_PARTS = "all work by the hour", "work quoted as one sum", "parts quoted as one sum"
FEES, NO_PLACE = "fees", "no position"
DONE = " (done so far)"
WORK = (EstimateLineKind.LABOUR, EstimateLineKind.FLAT)
STEPS = {fold(label): str(label) for label in Step.labels}


@dataclass(frozen=True, slots=True)
class Came:
    """What one place was quoted at, or came to; `free_minor` of it was done and not charged."""

    minor: int = 0
    minutes: int = 0
    free_minor: int = 0
    what: str = ""
    free_why: str = ""

    def and_line(self, line: InvoiceLine, full_minor: int, minutes: int = 0) -> "Came":
        free = 0 if line.charged else full_minor
        return Came(
            self.minor + full_minor,
            self.minutes + minutes,
            self.free_minor + free,
            line.designator or self.what,
            line.not_charged_reason or self.free_why,
        )

    def and_quoted(self, line: EstimateLine) -> "Came":
        what = line.position.designator if line.position else self.what
        return replace(self, minor=self.minor + line.high_minor, minutes=self.minutes + line.minutes, what=what)


Places = dict[str, Came]


class Sides:
    """`credited` is what notes in part took of bill lines, by the line's key."""

    def __init__(self, quoted: Sequence[EstimateLine], lines: Sequence[InvoiceLine], credited: Mapping[int, int]) -> None:
        self.quoted, self.credited = quoted, credited
        self.parts = [one for one in lines if one.kind == LineKind.PART]
        self.work = [one for one in lines if one.kind != LineKind.PART and one.labour]
        self.lumped = bool(self._quoted(EstimateLineKind.FEE)) and not self._quoted(*WORK)

    def _quoted(self, *kinds: str) -> list[EstimateLine]:
        return [one for one in self.quoted if one.kind in kinds]

    @property
    def agreed(self) -> Kinds:
        parts, work, fees = (
            sum(one.high_minor for one in self._quoted(*kinds))
            for kinds in ((EstimateLineKind.PART,), WORK, (EstimateLineKind.FEE,))
        )
        return Kinds(parts, fees, 0) if self.lumped else Kinds(parts, work, fees)

    @property
    def billed(self) -> Kinds:
        fees = [one for one in self.work if is_fee(one) and not self.lumped]
        work = [one for one in self.work if self.lumped or not is_fee(one)]
        return Kinds(*(sum(one.amount_minor - self._taken(one) for one in them) for them in (self.parts, work, fees)))

    def _taken(self, line: InvoiceLine) -> int:
        return self.credited.get(line.pk, 0)

    def misses(self) -> Iterator[Miss]:
        yield from self._parts_misses()
        yield from self._lumped() if self.lumped else self._work_misses()
        for line in (*self.parts, *self.work):
            if self._taken(line):
                yield Miss(CREDITED, _place(line), -self._taken(line), line.designator or line.text)

    def _parts_misses(self) -> Iterator[Miss]:
        """A lump for parts takes up what was found later; only what differs from it then is a miss."""
        quoted: dict[int | None, Came] = defaultdict(Came)
        came: dict[int | None, Came] = defaultdict(Came)
        roles: dict[int | None, str] = {None: NO_PLACE}
        for line in self._quoted(EstimateLineKind.PART):
            quoted[line.position_id] = quoted[line.position_id].and_quoted(line)
            roles.setdefault(line.position_id, _role(line.position))
        lump = quoted.pop(None, Came()).minor
        for bill in self.parts:
            entry: Any = bill.entry
            full = bill.amount_minor if bill.charged else (entry.unit_price_minor or 0) * entry.count
            # What was neither quoted nor charged is no miss: a part folded into the hour.
            if bill.charged or entry.position_id in quoted:
                came[entry.position_id] = came[entry.position_id].and_line(bill, full)
                roles.setdefault(entry.position_id, _role(entry.position))
        told = list(_compared(quoted, came, roles))
        later = sum(one.minor for one in told if one.why == LATER)
        yield from (one for one in told if one.why != LATER or not lump)
        if lump and later != lump:
            yield Miss(LUMP, LUMP_PARTS, later - lump)

    def _lumped(self) -> Iterator[Miss]:
        quoted = {LUMP_WORK: Came(sum(one.high_minor for one in self._quoted(EstimateLineKind.FEE)))}
        whole = Came()
        for line in self.work:
            whole = whole.and_line(line, _full(line))
        yield from _compared(quoted, {LUMP_WORK: whole} if self.work else {}, {}, LUMP)

    def _work_misses(self) -> Iterator[Miss]:
        tasks, timed, by_step = self._quoted_work()
        came_tasks: Places = defaultdict(Came)
        came_timed: Places = defaultdict(Came)
        came_fees: Places = defaultdict(Came)
        for line in self.work:
            entry: Any = line.labour
            if is_fee(line):
                came_fees[FEES] = came_fees[FEES].and_line(line, _full(line))
            elif entry.task:
                came_tasks[entry.task.name] = came_tasks[entry.task.name].and_line(line, _full(line))
            else:
                place = entry.get_step_display() if by_step else ALL_WORK
                came_timed[place] = came_timed[place].and_line(line, _full(line), entry.charged_minutes)
        fees = sum(one.high_minor for one in self._quoted(EstimateLineKind.FEE))
        yield from _compared(tasks, came_tasks, {})
        yield from _compared(timed, came_timed, {}, HOURS)
        yield from _compared({FEES: Came(fees)} if fees else {}, came_fees, {})

    def _quoted_work(self) -> tuple[Places, Places, bool]:
        """Tasks by name; time by step where every line names one."""
        done = {one.labour.task.name for one in self.work if one.labour and one.labour.task}
        tasks: Places = defaultdict(Came)
        lines: list[EstimateLine] = []
        for line in self._quoted(*WORK):
            name = line.task.name if line.task else line.text.removesuffix(DONE)
            if line.kind == EstimateLineKind.FLAT or name in done:
                tasks[name] = tasks[name].and_quoted(line)
            else:
                lines.append(line)
        by_step = bool(lines) and all(step_of(line.text) for line in lines)
        timed: Places = defaultdict(Came)
        for line in lines:
            place = step_of(line.text) if by_step else ALL_WORK
            timed[place] = timed[place].and_quoted(line)
        return tasks, timed, by_step


def _compared(
    quoted: Mapping[Any, Came], came: Mapping[Any, Came], places: Mapping[Any, str], other: str = DEARER
) -> Iterator[Miss]:
    """What was quoted at each place against what it came to."""
    for key in dict.fromkeys((*quoted, *came)):
        before, after, place = quoted.get(key), came.get(key), places.get(key, str(key))
        if after is None and before is not None and before.minor:
            yield Miss(DROPPED, place, -before.minor, before.what, -before.minutes)
        elif after is not None and before is None and after.minor:
            yield Miss(LATER, place, after.minor, after.what, after.minutes)
        elif after is not None and before is not None and after.minor != before.minor:
            yield Miss(other, place, after.minor - before.minor, after.what, after.minutes - before.minutes)
        if after is not None and after.free_minor:
            yield Miss(FREE, place, -after.free_minor, after.free_why)


def step_of(text: str) -> str:
    """The step that a line of time is called by, or nothing."""
    return STEPS.get(fold(text.removesuffix(DONE).partition(":")[0]), "")


def is_fee(line: InvoiceLine) -> bool:
    """Fees for inspecting or declining are booked as sums of labour that are no task."""
    entry: LabourEntry | None = line.labour
    return entry is not None and entry.flat_minor is not None and entry.task_id is None


def _full(line: InvoiceLine) -> int:
    """What the work comes to, charged or not."""
    return line.amount_minor if line.charged or line.labour is None else line.labour.amount_minor


def _place(line: InvoiceLine) -> str:
    if line.kind == LineKind.PART:
        return _role(line.entry.position if line.entry else None)
    if line.labour is None or is_fee(line):
        return FEES
    return line.labour.task.name if line.labour.task else line.labour.get_step_display()  # type: ignore[attr-defined, no-any-return]


def _role(position: Position | None) -> str:
    return role_of(position.role).label if position is not None else NO_PLACE
