"""Many papers in one file, drawn one after another, never all in memory."""

import zipfile
from collections.abc import Callable, Sequence
from typing import TypeVar

from shop.long_work import Made, Progress
from shop.paper.drawn import Drawn

Row = TypeVar("Row")
# A fixed time in the archive: the same papers make the same file. The format knows no earlier year.
EPOCH = (1980, 1, 1, 0, 0, 0)


def zip_of(progress: Progress, rows: Sequence[Row], draw: Callable[[Row], Drawn], said: str, name: str) -> Made:
    """PDFs are packed already, so they are stored as they are."""
    with zipfile.ZipFile(progress.file, "w", zipfile.ZIP_STORED) as archive:
        for seen, row in enumerate(rows):
            progress.step(seen, len(rows))
            made = draw(row)
            archive.writestr(zipfile.ZipInfo(made.name, EPOCH), made.content)
    progress.step(len(rows), len(rows))
    return Made(said, name)
