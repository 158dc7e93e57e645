"""The second look: what the log says is still unproven before power is applied. Computed, never ticked from memory."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from inventory.components.roles import role as role_of
from jobs.bench.part_risks import risk_of
from jobs.models import Decision, Verdict
from jobs.queries.candidates import candidate_of
from jobs.queries.sheet import PositionState, Sheet


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at. `blocks`: the second look can't be signed while it stands; the others are accepted by name."""

    code: str
    position: PositionState | None
    text: str
    blocks: bool = False

    @property
    def place(self) -> str:
        return self.position.position.designator if self.position else "set"

    @property
    def key(self) -> str:
        """The name by which it is accepted."""
        return f"{self.code}:{self.place}"


def second_look_points(sheet: Sheet) -> list[Point]:
    points = [point for row in sheet.rows for point in _points(row)]
    points += [
        Point("wiring", None, f"wired otherwise than the schematic: {entry.text}")
        for entry in sheet.wiring
        if not entry.position_id
    ]
    return sorted(_one_a_key(points), key=lambda point: not point.blocks)


def _one_a_key(points: Iterable[Point]) -> list[Point]:
    """Two findings of one kind at one place are one point, so that a tick accepts exactly what stands beside it."""
    merged: dict[str, Point] = {}
    for point in points:
        before = merged.get(point.key)
        merged[point.key] = replace(before, text=f"{before.text}; {point.text}") if before else point
    return list(merged.values())


def _points(row: PositionState) -> Iterator[Point]:
    yield from _unresolved(row)
    yield from _polarity(row)
    yield from _blocked_lots(row)
    yield from _line_connected(row)
    yield from _different(row)
    yield from _not_measured(row)
    for entry in row.wiring:
        yield Point("wiring", row, f"wired otherwise than the schematic: {entry.text}")


def _unresolved(row: PositionState) -> Iterator[Point]:
    if row.is_resolved:
        return
    if row.to_fit:
        yield Point("to_fit", row, "decided to replace, and nothing is fitted yet", blocks=True)
    elif row.entries:
        yield Point("undecided", row, "looked at, and not decided on", blocks=True)
    else:
        yield Point("untouched", row, "not looked at")


def _polarity(row: PositionState) -> Iterator[Point]:
    if row.polarity is None and row.holds_polarised:
        yield Point("polarity", row, "a polarised part was fitted and nobody has confirmed its polarity since", blocks=True)


def _blocked_lots(row: PositionState) -> Iterator[Point]:
    """A part whose lot turned out bad after it was fitted: no set leaves with it unseen, none with one that is a danger there."""
    for fit in row.fitted:
        if fit.lot is not None and fit.lot.blocked_reason:
            text = f"{fit.text} is of a lot that is blocked: {fit.lot.blocked_reason}"
            yield Point("blocked_lot", row, text, blocks=risk_of(row.role).is_danger)


def _line_connected(row: PositionState) -> Iterator[Point]:
    """Across the line or from the line to the chassis only the right safety class; an old part left there is named, too."""
    wanted = role_of(row.role).safety
    if not wanted:
        return
    for fit in row.fitted:
        if fit.override_reason:
            yield Point("override", row, f"fitted against the safety rule: {fit.override_reason}")
        elif fit.part is not None and fit.answer == "no":
            yield Point("safety_class", row, f"{fit.text} hasn't the safety class for this place", blocks=True)
    if not row.fitted and row.decision == Decision.KEEP:
        yield Point("old_line_part", row, "the old part stays in a place that is connected to the line", blocks=False)
    if not row.fitted and row.decision == Decision.REPLACE:
        yield Point("line_part_missing", row, "a line-connected position is empty")


def _different(row: PositionState) -> Iterator[Point]:
    called = row.called_spec
    for fit in row.fitted:
        if fit.part is None:
            continue
        spec = candidate_of(fit.part).spec
        other_value = called is not None and spec is not None and spec.value != called.value
        other_type = called is None and row.called and row.called.casefold() != fit.part.marking.casefold()
        if other_value or other_type:
            yield Point("differs", row, f"called for {row.called}, fitted {fit.text}")


def _not_measured(row: PositionState) -> Iterator[Point]:
    stays = row.decision in (Decision.KEEP, Decision.REPAIR) and not row.fitted
    if stays and row.verdict == Verdict.NOT_MEASURED:
        yield Point("not_measured", row, "stays in and was not measured")
