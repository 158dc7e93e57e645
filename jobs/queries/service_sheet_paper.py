"""Fills the paper that shows a job on its model's service sheet."""

from datetime import date

from jobs.documents.service_sheet import PaperMark, StateOnSheet
from jobs.models import Job
from jobs.queries.service_sheets import JobSheet, Marked
from shop.drawings.pictures import small_of
from shop.letterhead_of import letterhead

ON_PAPER = 2_200
"""Longest side in pixels: about 300 to the inch across a page."""


def state_on_sheet(job: Job, shown: JobSheet, picture: bytes, on: date) -> StateOnSheet:
    """`picture` is the kept drawing of the page that is shown."""
    page = shown.page
    assert page is not None
    return StateOnSheet(
        letterhead=letterhead(),
        job_number=job.number,
        set_line=str(job.radio),
        page_title=page.title,
        source=page.source,
        on=on,
        picture=small_of(picture, ON_PAPER),
        width=page.width,
        height=page.height,
        marks=tuple(PaperMark(one.position.designator, one.spot, one.look, tuple(one.flags)) for one in shown.here),
        counts=(*shown.legend, *shown.flag_legend),
        elsewhere=tuple(_beside(one) for one in (*shown.elsewhere, *shown.without_place)),
    )


def _beside(one: Marked) -> str:
    flagged = "".join(f", {flag.label}" for flag in one.flags)
    return f"{one.position.designator} ({one.look.label}{flagged})"
