"""Letters about a bad lot, one an owner and set: what is in it, what may happen, what the shop's warranty still covers."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.utils import timezone

from jobs.bench.part_risks import GRADES
from jobs.documents.bad_lot_letter import BadLotLetterPaper, BadPlace
from jobs.documents.bad_lot_letter import draw as draw_letter
from jobs.models import Job
from jobs.queries.bad_lots import InSet
from jobs.queries.papers_in import party_of
from shop.paper import Letterhead
from shop.paper.drawn import Drawn
from shop.paper.leaves import bound


def letters_of(sets: Iterable[InSet], head: Letterhead, day: date) -> list[BadLotLetterPaper]:
    """A letter for each set that still has such a part in it, the gravest first."""
    by_set: dict[int, list[InSet]] = {}
    for one in sets:
        if one.still_fitted:
            by_set.setdefault(one.job.radio_id, []).append(one)
    papers = [_letter(places, head, day) for places in by_set.values()]
    return sorted(papers, key=lambda paper: (GRADES.index(paper.grade), paper.job_number))


def _letter(sets: Sequence[InSet], head: Letterhead, day: date) -> BadLotLetterPaper:
    job, bad = sets[0].job, sets[0].bad
    return BadLotLetterPaper(
        letterhead=head,
        to=party_of(sets[0].owner),
        job_number=job.number,
        set_line=_set_line(job),
        written_on=day,
        why=bad.why,
        grade=GRADES[min(one.risk.rank for one in sets)],
        places=tuple(_place(one) for one in sets),
        danger=bad.danger,
        advice=bad.advice,
    )


def _set_line(job: Job) -> str:
    serial = f", serial number {job.radio.serial}" if job.radio.serial else ""
    return f"{job.radio.model}{serial}"


def _place(one: InSet) -> BadPlace:
    return BadPlace(
        one.designator, one.entry.text, timezone.localdate(one.entry.at), one.risk.words, one.cover_until_on, one.cover_runs
    )


def letters_bound(papers: Sequence[BadLotLetterPaper], lot_pk: int) -> Drawn:
    """All of them as one PDF, to be printed at once; there must be one."""
    name = f"letter-{papers[0].job_number}.pdf" if len(papers) == 1 else f"letters-lot-{lot_pk}.pdf"
    return Drawn(name, bound([draw_letter(paper) for paper in papers]))
