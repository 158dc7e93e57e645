"""What nobody works on any more is told so; what is old goes."""

from datetime import datetime, timedelta

from shop.long_work.finding import LOST, lost_works
from shop.models import ENDED, LongWork, WorkState

RESULTS_KEPT = timedelta(days=7)
WORKS_KEPT = timedelta(days=60)


def mark_lost(at: datetime) -> int:
    """Work of a process that gives no sign of life any more counts as failed, and is told so."""
    return lost_works(at).update(state=WorkState.FAILED, message=LOST, ended_at=at)


def sweep(at: datetime) -> None:
    """Old results go, later the works themselves."""
    ended = LongWork.objects.filter(state__in=ENDED)
    for work in ended.filter(ended_at__lt=at - RESULTS_KEPT).exclude(result=""):
        work.result.delete(save=False)
        LongWork.objects.filter(pk=work.pk).update(result="", result_name="")
    ended.filter(ended_at__lt=at - WORKS_KEPT, result="").delete()
