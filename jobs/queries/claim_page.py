"""What a claim's page shows: the earlier job's log line by line, each finding with its reasons, what is borne where."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.models import Lot
from jobs.cover.case import OFFERED, Line
from jobs.cover.reasons import AGAINST, FOR, NOTE, OPEN, Reason
from jobs.models import ClaimFinding, Position, WarrantyLine
from jobs.queries.claim_case import lines_of
from jobs.queries.claims import Judged
from jobs.queries.sheet import PositionState, Sheet, sheet_of

MARKS: Mapping[str, tuple[str, str]] = {
    FOR: ("yes", "for cover"),
    AGAINST: ("no", "against"),
    OPEN: ("open", "open"),
    NOTE: ("note", "to know"),
}


@dataclass(frozen=True, slots=True)
class Said:
    """A reason with its mark, and the position of the earlier job whose log it rests on."""

    reason: Reason
    position: Position | None

    @property
    def mark(self) -> str:
        return MARKS[self.reason.level][0]

    @property
    def word(self) -> str:
        return MARKS[self.reason.level][1]


@dataclass(frozen=True, slots=True)
class Found:
    """A finding that counts, with what is said about it. `lot`: that of the part its line is about; `ways`: links from there."""

    finding: ClaimFinding
    number: int
    said: Sequence[Said]
    lot: Lot | None
    ways: Sequence[object] = ()

    @property
    def place(self) -> str:
        return self.finding.position.designator if self.finding.position else ""


@dataclass(frozen=True, slots=True)
class Then:
    """One line of the warranty beside the earlier job's log at its position; without a `line`, what was offered and not done."""

    text: str
    place: str
    row: PositionState | None
    line: WarrantyLine | None
    runs: bool
    is_bad: bool = False
    is_named: bool = False

    @property
    def lot(self) -> Lot | None:
        return self.line.entry.lot if self.line is not None and self.line.entry is not None else None

    @property
    def is_work(self) -> bool:
        return self.line is not None and self.line.labour_id is not None


@dataclass(frozen=True, slots=True)
class ClaimPage:
    """`general` is what holds for the claim as a whole; `named` the lines that a finding is about, `others` the rest."""

    judged: Judged
    general: Sequence[Said]
    found: Sequence[Found]
    named: Sequence[Then]
    others: Sequence[Then]


def claim_page(judged: Judged) -> ClaimPage:
    earlier = sheet_of(judged.claim.warranty.job)
    lines = list(lines_of(judged.claim))
    then = [*_then(judged, earlier, lines), *_offered(judged, earlier)]
    return ClaimPage(
        judged,
        _said(judged.proposal.about(None), earlier),
        [_found(judged, one, earlier, lines) for one in judged.findings],
        [one for one in then if one.is_named],
        [one for one in then if not one.is_named],
    )


def _said(reasons: Sequence[Reason], earlier: Sheet) -> list[Said]:
    at = {entry.seq: row.position for row in earlier.rows for entry in row.entries}
    return [Said(one, at.get(one.seq) if one.seq else None) for one in reasons]


def _found(judged: Judged, finding: ClaimFinding, earlier: Sheet, lines: Sequence[WarrantyLine]) -> Found:
    number = judged.number_of(finding)
    line = next((one for one in lines if one.pk == finding.line_id), None)
    lot = line.entry.lot if line is not None and line.entry is not None else None
    return Found(finding, number, _said(judged.proposal.about(number), earlier), lot)


def _then(judged: Judged, earlier: Sheet, lines: Sequence[WarrantyLine]) -> list[Then]:
    rows = {row.position.designator: row for row in earlier.rows}
    named = {one.line_id for one in judged.findings} | {None}
    places = {one.position.designator for one in judged.findings if one.position}
    return [
        _line_then(judged, pure, line, rows.get(pure.designator), line.pk in named or pure.designator in places)
        for pure, line in zip(judged.case.lines, lines, strict=True)
    ]


def _line_then(judged: Judged, pure: Line, line: WarrantyLine, row: PositionState | None, is_named: bool) -> Then:
    return Then(pure.text, pure.designator, row, line, pure.runs_on(judged.case.claimed_on), pure.lot_is_bad, is_named)


def _offered(judged: Judged, earlier: Sheet) -> list[Then]:
    """What was to be replaced and wasn't agreed to stands on no line of the warranty."""
    rows = {row.position.designator: row for row in earlier.rows}
    names = {one.position.designator for one in judged.findings if one.position}
    offered = [one for one in judged.case.places if one.outcome == OFFERED]
    return [
        Then(
            "to be replaced, and not agreed to", one.designator, rows[one.designator], None, False, False, one.designator in names
        )
        for one in offered
    ]
