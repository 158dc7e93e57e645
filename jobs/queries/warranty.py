"""Reading a warranty: what is covered until when, and how that stands on a day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from jobs.models import Job, Warranty, WarrantyLine
from jobs.queries.warranty_paper import split_place


@dataclass(frozen=True, slots=True)
class CoverLine:
    """One line: `days_left` on the day asked for, None where it isn't covered at all, negative once it has run out."""

    line: WarrantyLine
    place: str
    text: str
    days_left: int | None

    @property
    def runs(self) -> bool:
        return self.days_left is not None and self.days_left >= 0


@dataclass(frozen=True, slots=True)
class Cover:
    warranty: Warranty
    lines: Sequence[CoverLine]

    @property
    def covered(self) -> list[CoverLine]:
        return [line for line in self.lines if line.days_left is not None]

    @property
    def left_out(self) -> list[CoverLine]:
        return [line for line in self.lines if line.days_left is None]

    @property
    def running(self) -> int:
        return sum(line.runs for line in self.lines)


def cover_of(job: Job, day: date) -> Cover | None:
    """The warranty of a job as it stands on a day; None before hand-over."""
    warranty = Warranty.objects.filter(job=job).first()
    if warranty is None:
        return None
    lines = warranty.lines.select_related("entry__position")  # type: ignore[attr-defined]
    return Cover(warranty, [_cover_line(line, day) for line in lines])


def _cover_line(line: WarrantyLine, day: date) -> CoverLine:
    place, text = split_place(line)
    left = (line.until_on - day).days if line.covered and line.until_on else None
    return CoverLine(line, place, text, left)
