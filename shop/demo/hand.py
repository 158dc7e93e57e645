"""What the bench does at one position: look, measure, decide, fit. The readings are invented, the judgement is the shop's own."""

from dataclasses import dataclass, field
from random import Random

from django.db.models import F

from inventory.components.roles import role as role_of
from inventory.components.writing import write_value
from inventory.models import Balance, Drawer, Lot
from jobs.models import Decision, Job, LogEntry, Position, Verdict
from jobs.queries.candidates import candidates_for
from jobs.queries.sheet import PositionState, position_state, read_called, sheet_of
from jobs.services import log
from shop.demo.plans import Clock
from shop.models import Staff

ELECTROLYTIC = ("reservoir", "smoothing", "cathode_bypass")
PAPER = ("coupling", "bypass", "tone", "avc", "line_to_line", "line_to_chassis")
ALWAYS_REPLACED = ("coupling", "line_to_line", "line_to_chassis")
LEAKS = ("leaky 2.2 MΩ", "leaky 820 kΩ", "leaky 6 MΩ", "leaky 15 MΩ", "leaky")
FOUND_PAPER = ("wax paper, brown, {called}", "paper in a cardboard tube, marked {called}", "black moulded paper, {called}")
KEPT_BY_LOOKS = ("looked at, nothing against it", "clean and tight", "as new after cleaning")


@dataclass
class Hand:
    """One person at work on one job."""

    job: Job
    person: Staff
    second: Staff
    clock: Clock
    rng: Random
    chosen: dict[tuple[int, str], int] = field(default_factory=dict)

    def author(self) -> log.Author:
        """A few minutes pass with every entry."""
        return log.Author(self.person, self.clock.later(minutes=self.rng.randint(1, 4)))

    def position(self, designator: str) -> Position:
        found = self.job.positions.get(designator=designator)  # type: ignore[attr-defined]
        found.job = self.job
        return found  # type: ignore[no-any-return]

    def inspect(self, share: float = 1.0) -> None:
        """Go through the sheet from the first position, all of it or a share."""
        rows = sheet_of(self.job).rows
        for row in rows[: max(int(len(rows) * share), 1)]:
            if not row.decision:
                self.inspect_position(row.position)

    def inspect_position(self, position: Position) -> None:
        kind, role = role_of(position.role).kind, position.role
        if role == "volume_control":
            self._control(position)
        elif kind == "resistance":
            self._resistor(position)
        elif role in ELECTROLYTIC:
            self._electrolytic(position)
        elif role in PAPER:
            self._paper(position)
        elif kind == "capacitance":
            self._near(position, 0.98, 1.03)
        elif kind == "winding":
            self._near(position, 0.93, 1.08)
        elif kind == "valve" or role == "transistor":
            self._valve(position)
        else:
            log.decide(position, Decision.KEEP, self.author(), why=self.rng.choice(KEPT_BY_LOOKS))

    def _reading(self, position: Position, low: float, high: float) -> str:
        spec = read_called(position.called, position.role)
        if spec is None:
            return ""
        size = float(spec.value) * self.rng.uniform(low, high)
        return write_value(float(f"{size:.3g}"), spec.kind)

    def _resistor(self, position: Position) -> None:
        """Carbon drifts upwards with the years; beyond the shop's tolerance it goes."""
        high = self.rng.random() < 0.4
        self._measure_and_decide(position, self._reading(position, 1.22, 1.9) if high else self._reading(position, 0.96, 1.17))

    def _control(self, position: Position) -> None:
        log.record_measured(position, self._reading(position, 0.9, 1.15), self.author())
        log.decide(position, Decision.REPAIR, self.author(), why="track cleaned, runs without crackling")

    def _electrolytic(self, position: Position) -> None:
        self._measure_and_decide(position, self._reading(position, 0.25, 0.75), always=True)

    def _paper(self, position: Position) -> None:
        if self.rng.random() < 0.4:
            text = self.rng.choice(FOUND_PAPER).format(called=position.called)
            log.record_found(position, text, self.author())
        leaky = self.rng.random() < 0.7
        reading = self.rng.choice(LEAKS) if leaky else self._reading(position, 1.02, 1.6)
        self._measure_and_decide(position, reading, always=leaky or position.role in ALWAYS_REPLACED)

    def _near(self, position: Position, low: float, high: float) -> None:
        log.record_measured(position, self._reading(position, low, high), self.author())
        log.decide(position, Decision.KEEP, self.author())

    def _valve(self, position: Position) -> None:
        weak = self.rng.random() < 0.15
        percent = self.rng.randint(30, 52) if weak else self.rng.randint(72, 104)
        verdict = Verdict.DRIFTED if weak else Verdict.WITHIN
        log.record_measured(position, f"{percent} % on the tester", self.author(), verdict=verdict)
        self._decide(position, weak)

    def _measure_and_decide(self, position: Position, reading: str, *, always: bool = False) -> None:
        """Replace what the shop's own judgement condemns, and always what the trade never leaves in."""
        verdict = log.record_measured(position, reading, self.author()).verdict if reading else Verdict.NOT_MEASURED
        self._decide(position, always or verdict not in (Verdict.WITHIN, Verdict.NOT_MEASURED))

    def _decide(self, position: Position, replace: bool) -> None:
        if replace:
            self.plan(position)
        else:
            log.decide(position, Decision.KEEP, self.author())

    def plan(self, position: Position) -> LogEntry:
        """Replace by the best that lies in a drawer, and hold it; with nothing there the old part stays, and the log says why."""
        best = self.best(position_state(position))
        if best is None:
            return log.decide(position, Decision.KEEP, self.author(), why="no substitute in the drawers; works, to be watched")
        lot, drawer = best
        plan = log.Plan(lot.part, 1, lot, drawer)
        return log.decide(position, Decision.REPLACE, self.author(), plan=plan)

    def best(self, state: PositionState) -> tuple[Lot, Drawer] | None:
        """The first that isn't refused. What was chosen for the same place of another set is taken again while there is some."""
        key = (self.job.radio.model_id, state.position.designator)
        known = Balance.objects.filter(lot__part_id=self.chosen.get(key, 0), on_hand__gt=F("held")).select_related(
            "lot__part", "drawer"
        )
        balance = known.order_by("lot__received_on", "pk").first()
        if balance is not None:
            return balance.lot, balance.drawer
        found = next((one for one in candidates_for(state, self.job) if one.answer.answer != "no"), None)
        if found is None:
            return None
        self.chosen[key] = found.part.pk
        return found.lot, Drawer.objects.get(pk=found.drawer_id)

    def fit_planned(self, only: int | None = None) -> None:
        """Fit what is planned, in circuit order, and confirm the polarity of what has one."""
        for row in sheet_of(self.job).rows[:only]:
            if row.to_fit and row.decided is not None:
                self.fit(row)

    def fit(self, row: PositionState, *, not_charged: str = "") -> LogEntry:
        lot, drawer = self._chosen(row)
        entry = log.fit(row.position, log.Fit(lot, drawer, not_charged=not_charged), self.author())
        self.confirm(row.position, entry)
        return entry

    def confirm(self, position: Position, entry: LogEntry) -> None:
        if entry.part is not None and entry.part.polarised:
            log.confirm_polarity(position, self.author())

    def _chosen(self, row: PositionState) -> tuple[Lot, Drawer]:
        decided = row.decided
        if decided is not None and decided.hold is not None and decided.hold.is_open:
            return decided.hold.lot, decided.hold.drawer
        best = self.best(row)
        if best is None:
            raise RuntimeError(f"nothing in the drawers will do at {row.position.designator} of {self.job}")
        return best
