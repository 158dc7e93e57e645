"""A table that was read, held against the list that stands: what each line would add or change. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from inventory.components.roles import ROLES
from jobs.queries.called_for_table import Layout, TableLine


class Row(NamedTuple):
    """One position of a called-for list."""

    designator: str
    role: str
    called: str
    note: str = ""

    @property
    def role_label(self) -> str:
        return ROLES[self.role].label if self.role in ROLES else self.role


STATES = {"added": ("yes", "Added"), "changed": ("warn", "Changed"), "same": ("note", "Same"), "refused": ("no", "Left out")}


@dataclass(frozen=True, slots=True)
class MergeLine:
    """One line's effect: `state` is added, changed, same or refused; `row` is what would stand, `before` what stands now."""

    line: TableLine
    state: str
    row: Row
    before: Row | None = None

    @property
    def mark(self) -> str:
        return STATES[self.state][0]

    @property
    def word(self) -> str:
        return STATES[self.state][1]


def merge_lines(lines: Sequence[TableLine], standing: Sequence[Row], layout: Layout) -> list[MergeLine]:
    by_name = {row.designator: row for row in standing}
    return [_merge_line(line, by_name, layout) for line in lines]


def _merge_line(line: TableLine, standing: Mapping[str, Row], layout: Layout) -> MergeLine:
    before = standing.get(line.designator)
    row = _row(line, before, layout)
    if line.problem and not _stood_already(line, before):
        return MergeLine(line, "refused", row, before)
    if before is None:
        return MergeLine(line, "added", row)
    return MergeLine(line, "same" if row == before else "changed", row, before)


def _stood_already(line: TableLine, before: Row | None) -> bool:
    """A value that somebody kept as it is written isn't asked about again."""
    return before is not None and (line.may_keep or bool(line.readings)) and before.called == line.called


def _row(line: TableLine, before: Row | None, layout: Layout) -> Row:
    """What a table doesn't tell stays as it stands."""
    if before is None:
        return Row(line.designator, line.role, line.called, line.note)
    return Row(
        line.designator,
        before.role if line.role_guessed else line.role,
        line.called if "called" in layout.columns else before.called,
        line.note if "note" in layout.columns else before.note,
    )


def merged(standing: Sequence[Row], merge: Sequence[MergeLine]) -> list[Row]:
    """The whole list as it would be: the standing order, new positions behind it in the table's order."""
    good = {one.row.designator: one.row for one in merge if one.state != "refused"}
    kept = [good.pop(row.designator, row) for row in standing]
    return [*kept, *good.values()]
