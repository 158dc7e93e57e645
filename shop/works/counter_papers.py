"""The counter's papers for all open jobs: tags in one PDF, one a page; claim checks each in its own.

`root` is the address under which the shop was reached when this was asked for: the codes on the papers carry it.
"""

from jobs.documents import tag
from jobs.models import Job
from jobs.queries import drawn
from jobs.queries.papers_in import tag_of
from shop.acts import Refused
from shop.long_work import Made, Progress
from shop.models import LongWork
from shop.works.zipped import zip_of

NOTHING_OPEN = "No set stands in the workshop, so there is nothing to draw."


def draw_claim_checks(work: LongWork, progress: Progress) -> Made:
    keys, root = _open_jobs(), work.asked["root"]
    said = f"Claim checks of {len(keys)} open jobs."
    return zip_of(progress, keys, lambda pk: drawn.claim_check(pk, root), said, "claim-checks.zip")


def draw_tags(work: LongWork, progress: Progress) -> Made:
    jobs, root = list(Job.objects.with_heads().filter(pk__in=_open_jobs()).order_by("pk")), work.asked["root"]
    tags = [tag_of(job, drawn.job_address(root, job.pk)) for job in jobs]
    progress.file.write(tag.draw_all(tags, lambda seen: progress.step(seen, len(tags))))
    progress.step(len(tags), len(tags))
    return Made(f"Tags of {len(tags)} open jobs, one a page.", "tags.pdf")


def _open_jobs() -> list[int]:
    keys = list(Job.objects.open().order_by("pk").values_list("pk", flat=True))
    if not keys:
        raise Refused(NOTHING_OPEN)
    return keys
