"""The whole shop as one open file, asked for on the owner's page of it."""

from shop.archive.writing import write
from shop.long_work import Made, Progress
from shop.models import LongWork

NAME = "whole-shop.zip"


def write_archive(work: LongWork, progress: Progress) -> Made:
    made = write(progress.file, progress.step)
    said = f"{made.row_count} rows in {len(made.tables)} tables, {len(made.files)} photos and drawings."
    if made.missing:
        said += f" {len(made.missing)} files that rows name weren't there any more."
    return Made(f"The archive holds {said}", NAME)
