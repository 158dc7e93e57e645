"""The change log sheet: a job's log folded into one row a position."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import Model, QuerySet

from inventory.components.notation import NotationError, Spec, read_measured, read_notation
from inventory.components.roles import role as role_of
from jobs.bench.comparing import MINDED
from jobs.bench.heat import Heat
from jobs.bench.worded import quantity_of
from jobs.models import Decision, EntryKind, Job, LogEntry, Position, Verdict
from jobs.queries.findings import is_finding
from jobs.queries.voltages import VoltageLine, heat_of, last_voltages, voltage_lines, volts_said
from shop.prepared import Prepared

QUANTITIES = ("resistance", "capacitance", "inductance")


def read_called(text: str, role: str) -> Spec | None:
    """The called-for value as a quantity, or None where the role names a type (a valve) or the text can't be read."""
    kind = role_of(role).kind
    if not text or kind not in (*QUANTITIES, "winding"):
        return None
    try:
        return read_measured(text, "resistance") if kind == "winding" else read_notation(text, kind)
    except NotationError:
        return None


def standing(entries: Iterable[LogEntry]) -> list[LogEntry]:
    """The entries that count: not corrected by a later one, and not a mere withdrawal."""
    listed = list(entries)
    corrected = {entry.corrects_id for entry in listed if entry.corrects_id}
    return [entry for entry in listed if entry.pk not in corrected and not entry.withdrawn]


def still_in(entries: Iterable[LogEntry]) -> list[LogEntry]:
    """The parts that are in the set now: fitted and not taken out again."""
    listed = list(entries)
    out = {entry.takes_out_id for entry in listed if entry.takes_out_id}
    return [entry for entry in listed if entry.kind == EntryKind.FITTED and entry.pk not in out]


def in_words(entry: LogEntry) -> str:
    """An entry as one would say it: `found: 0.05 µF paper`, `decided: replace by 0.047 µF film, it leaks`."""
    kind = entry.get_kind_display().lower()
    if entry.withdrawn:
        return f"{kind}, taken back"
    if entry.kind == EntryKind.VOLTAGE:
        return f"{kind}, {entry.get_point_display()}: {volts_said(entry)}"
    if entry.kind != EntryKind.DECIDED:
        return f"{kind}: {entry.text}"
    planned = f" by {entry.part.title}" if entry.part else ""
    why = f", {entry.note}" if entry.note else ""
    return f"{kind}: {entry.get_decision_display()}{planned}{why}"


@dataclass(frozen=True)
class HistoryLine:
    """One entry of a position's history with what became of it."""

    entry: LogEntry
    corrected_by: LogEntry | None
    corrects: LogEntry | None
    taken_out_by: LogEntry | None

    @property
    def words(self) -> str:
        return in_words(self.entry)

    @property
    def is_struck(self) -> bool:
        return self.corrected_by is not None

    @property
    def is_finding(self) -> bool:
        """Whether a revised estimate can be drafted from it."""
        return not self.is_struck and is_finding(self.entry)

    @property
    def can_change(self) -> bool:
        """Whether it can be corrected or taken back; what was fitted is taken out instead."""
        moves_stock = self.entry.kind in (EntryKind.FITTED, EntryKind.TAKEN_OUT)
        return not (moves_stock or self.entry.withdrawn or self.is_struck)


VERDICT_MARKS: dict[str, str] = {
    Verdict.WITHIN: "yes",
    Verdict.DRIFTED: "warn",
    Verdict.OPEN: "no",
    Verdict.SHORTED: "no",
    Verdict.LEAKY: "no",
    Verdict.WRONG_PART: "no",
    Verdict.NOT_MEASURED: "open",
}

_GRAVITY: dict[str, int] = {"": 0, Verdict.NOT_MEASURED: 0, Verdict.WITHIN: 1, Verdict.DRIFTED: 2} | dict.fromkeys(
    (Verdict.OPEN, Verdict.SHORTED, Verdict.LEAKY, Verdict.WRONG_PART), 3
)


@dataclass(frozen=True)
class PositionState:
    """A position as the log leaves it. `entries` is its whole history, oldest first.

    `elsewhere` says in words what was done here in other sets of the model, where somebody asked for that.
    """

    position: Position
    entries: Sequence[LogEntry]
    elsewhere: str = ""

    @cached_property
    def _standing(self) -> list[LogEntry]:
        return standing(self.entries)

    def _last(self, kind: str) -> LogEntry | None:
        return next((entry for entry in reversed(self._standing) if entry.kind == kind), None)

    @cached_property
    def called(self) -> str:
        amended = self._last(EntryKind.CALLED_FOR)
        return amended.text if amended else self.position.called

    @cached_property
    def called_spec(self) -> Spec | None:
        return read_called(self.called, self.position.role)

    @property
    def role(self) -> str:
        return self.position.role

    @property
    def role_label(self) -> str:
        return role_of(self.position.role).label

    @cached_property
    def found(self) -> LogEntry | None:
        return self._last(EntryKind.FOUND)

    @cached_property
    def readings(self) -> list[LogEntry]:
        """The last reading of each quantity: a good value doesn't take the place of a leak, nor an ESR that of a value."""
        taken = [entry for entry in self._standing if entry.kind == EntryKind.MEASURED]
        if len(taken) < 2:
            return taken
        kind = role_of(self.position.role).kind
        last = {quantity_of(entry.text, kind): entry for entry in taken}
        return sorted(last.values(), key=lambda entry: entry.seq)

    @cached_property
    def measured(self) -> LogEntry | None:
        """The reading that decides: the gravest of `readings`, the later of two that are equally grave."""
        return max(self.readings, key=lambda entry: (_GRAVITY[entry.verdict], entry.seq), default=None)

    @cached_property
    def voltages(self) -> dict[str, LogEntry]:
        """Under power: the last voltage that counts at each point."""
        return last_voltages(self._standing)

    @property
    def under_power(self) -> list[VoltageLine]:
        return voltage_lines(self.voltages)

    @property
    def heat(self) -> Heat | None:
        """What a resistor has to bear, where the voltage across it is known."""
        return heat_of(self)

    @cached_property
    def decided(self) -> LogEntry | None:
        return self._last(EntryKind.DECIDED)

    @cached_property
    def polarity(self) -> LogEntry | None:
        """The last confirmation of polarity, valid while nothing was fitted after it."""
        entry = self._last(EntryKind.POLARITY)
        last_fit = max((fit.seq for fit in self.fitted), default=0)
        return entry if entry and entry.seq > last_fit else None

    @cached_property
    def wiring(self) -> list[LogEntry]:
        return [entry for entry in self._standing if entry.kind == EntryKind.WIRING]

    @cached_property
    def notes(self) -> list[LogEntry]:
        return [entry for entry in self._standing if entry.kind == EntryKind.NOTE]

    @cached_property
    def fitted(self) -> list[LogEntry]:
        """Parts that are in the set now: fitted and not taken out again."""
        return still_in(self.entries)

    @property
    def holds_polarised(self) -> bool:
        """Whether a part that can be put in the wrong way round is fitted."""
        return any(fit.part is not None and fit.part.polarised for fit in self.fitted)

    @property
    def verdict(self) -> str:
        """What was judged of the part that was in there, wrong parts first; `not_measured` where no reading exists."""
        if self.found and self.found.verdict == Verdict.WRONG_PART:
            return Verdict.WRONG_PART
        if self.measured:
            return self.measured.verdict or Verdict.NOT_MEASURED
        return Verdict.NOT_MEASURED

    @property
    def verdict_label(self) -> str:
        return Verdict(self.verdict).label

    @property
    def verdict_mark(self) -> str:
        return VERDICT_MARKS[self.verdict]

    @property
    def reasons(self) -> str:
        """Why the verdict is what it is, in sentences, one a line."""
        entry = self.found if self.verdict == Verdict.WRONG_PART else self.measured
        return entry.reasons if entry else ""

    @property
    def said(self) -> str:
        """The reasons as short as a sheet wants them: what it reads, and what to mind before acting on it."""
        lines = self.reasons.split("\n")
        return " ".join([lines[0], *(line for line in lines[1:] if line in MINDED)])

    @property
    def decision(self) -> str:
        return self.decided.decision if self.decided else ""

    @property
    def decision_label(self) -> str:
        return Decision(self.decision).label if self.decision else ""

    @property
    def to_fit(self) -> bool:
        return self.decision == Decision.REPLACE and not self.fitted

    @property
    def is_resolved(self) -> bool:
        return bool(self.decision) and not self.to_fit

    @property
    def next_step(self) -> str:
        """What the bench does here next, in two words; empty when nothing is left to do."""
        if self.is_resolved:
            return ""
        if self.to_fit:
            return "to fit"
        return "to decide" if self.measured or self.found else "to inspect"

    @property
    def has_price(self) -> bool:
        """The log says what this position costs: something is fitted, or a part with a price is planned."""
        planned = self.to_fit and self.decided is not None and self.decided.unit_price_minor is not None
        return bool(self.fitted) or planned

    @property
    def price_minor(self) -> int:
        return sum(fit.price_minor for fit in self.fitted)

    @property
    def planned_minor(self) -> int:
        """Price still to come: the planned part's, while it isn't fitted; none of what is folded into the hour."""
        if not self.to_fit or self.decided is None:
            return 0
        return self.decided.price_minor

    @property
    def history(self) -> list[HistoryLine]:
        """Every entry, oldest first, each with the one that corrects it or took it out again."""
        by_pk = {entry.pk: entry for entry in self.entries}
        corrected = {entry.corrects_id: entry for entry in self.entries if entry.corrects_id}
        out = {entry.takes_out_id: entry for entry in self.entries if entry.takes_out_id}
        return [
            HistoryLine(entry, corrected.get(entry.pk), by_pk.get(entry.corrects_id or 0), out.get(entry.pk))
            for entry in self.entries
        ]

    @property
    def last_seq(self) -> int:
        return self.entries[-1].seq if self.entries else 0

    @property
    def last_entry(self) -> LogEntry | None:
        return self.entries[-1] if self.entries else None


@dataclass(frozen=True)
class Sheet:
    """A whole job: its positions in circuit order, the entries that belong to the set as a whole, and all entries in order."""

    job: Job
    rows: Sequence[PositionState]
    set_entries: Sequence[LogEntry]
    entries: Sequence[LogEntry] = field(repr=False)

    @cached_property
    def fitted(self) -> list[LogEntry]:
        return [fit for row in self.rows for fit in row.fitted]

    @property
    def placed(self) -> list[tuple[str, LogEntry]]:
        """What is fitted, each with the designator of its place, in circuit order."""
        return [(row.position.designator, fit) for row in self.rows for fit in row.fitted]

    @property
    def parts_minor(self) -> int:
        """The parts total: what invoice and job summary both come to."""
        return sum(fit.price_minor for fit in self.fitted)

    @property
    def planned_minor(self) -> int:
        return sum(row.planned_minor for row in self.rows)

    @cached_property
    def unresolved(self) -> list[PositionState]:
        return [row for row in self.rows if not row.is_resolved]

    @property
    def next_unresolved(self) -> PositionState | None:
        return next(iter(self.unresolved), None)

    @property
    def wiring(self) -> list[LogEntry]:
        return [entry for entry in standing(self.entries) if entry.kind == EntryKind.WIRING]

    @property
    def last_change_seq(self) -> int:
        """The last entry that changed the circuit: parts in or out, or wiring. What was proved before it is proved no longer."""
        changing = (EntryKind.FITTED, EntryKind.TAKEN_OUT, EntryKind.WIRING)
        return max((entry.seq for entry in self.entries if entry.kind in changing), default=0)


# What a page shows of an entry; what judging needs of it; what sums and writing do. Joins cost more than the rows: writing looks
# at one position, whose few entries load the part, the hold or the person where one is asked for.
SHOWN = ("person", "part", "lot", "movement__drawer", "override_by", "hold__drawer", "hold__lot")
JUDGED = ("part",)
COUNTED: tuple[str, ...] = ()


_OF_JOB = Prepared(lambda job: LogEntry.objects.filter(job=job).order_by("seq"))


def log_entries(job: Job, related: tuple[str, ...] = SHOWN) -> list[LogEntry]:
    """A whole log names few people, parts and drawers many times, so each is read once: joined, every row would carry all."""
    return with_named(_OF_JOB.all(job.pk), related)


def with_named(entries: list[LogEntry], related: tuple[str, ...]) -> list[LogEntry]:
    """Entries with the rows that `related` names, as `select_related` takes them: a query for each kind of row that is named."""
    wanted: dict[str, set[str]] = {}
    for name in related:
        first, _, rest = name.partition("__")
        wanted.setdefault(first, set()).update([rest] if rest else [])
    by_kind: dict[type[Model], list[str]] = {}
    for first in wanted:
        by_kind.setdefault(_kind_of(first), []).append(first)
    for kind, names in by_kind.items():
        _name(entries, kind, names, sorted(set().union(*(wanted[one] for one in names))))
    return entries


def _kind_of(name: str) -> type[Model]:
    kind = LogEntry._meta.get_field(name).related_model
    assert kind is not None
    return kind


def _name(entries: list[LogEntry], kind: type[Model], names: list[str], joined: list[str]) -> None:
    keys = {key for entry in entries for name in names if (key := getattr(entry, f"{name}_id")) is not None}
    rows = kind._default_manager.select_related(*joined) if joined else kind._default_manager.all()
    found = rows.in_bulk(keys)
    for entry in entries:
        for name in names:
            key = getattr(entry, f"{name}_id")
            if key is not None:
                setattr(entry, name, found[key])


def _joined(entries: "QuerySet[LogEntry]", related: tuple[str, ...]) -> list[LogEntry]:
    """Without a name the framework would join everything."""
    return list((entries.select_related(*related) if related else entries).order_by("seq"))


_POSITIONS = Prepared(lambda job: Position.objects.filter(job=job).order_by("order", "pk"))


def sheet_of(job: Job, related: tuple[str, ...] = SHOWN) -> Sheet:
    """The job's sheet, in as many queries however many positions there are: two, and one for each kind of row it names."""
    positions = _POSITIONS.all(job.pk)
    entries = log_entries(job, related)
    by_position: dict[int | None, list[LogEntry]] = {}
    for entry in entries:
        by_position.setdefault(entry.position_id, []).append(entry)
    for position in positions:
        position.job = job
    rows = [PositionState(position, by_position.get(position.pk, [])) for position in positions]
    return Sheet(job, rows, by_position.get(None, []), entries)


_AT_POSITION = Prepared(lambda position: LogEntry.objects.filter(position=position).order_by("seq"))


def position_state(position: Position, related: tuple[str, ...] = SHOWN) -> PositionState:
    if related:
        return PositionState(position, _joined(position.entries.all(), related))
    entries = _AT_POSITION.all(position.pk)
    for entry in entries:
        entry.position = position
    return PositionState(position, entries)
