"""Work that takes longer than a page may: it is asked for, runs in the background, tells how far it got, can be stopped.

    asked = Asked("drawer_labels", "Labels of all drawers", {"sheet": "a4-24"})
    work = begin(asked, person=person, at=now(), back="/drawers/labels/")

writes the row (`LongWork`); once its transaction is through, a thread of the serving process takes it up. A kind of work is a
`Kind` with a worker, named in `shop.works.KINDS`:

    def worker(work: LongWork, progress: Progress) -> Made:
        for seen, one in enumerate(rows):
            progress.step(seen, len(rows))         # raises Stopped, once the person asked for that
            progress.file.write(…)                 # an unnamed file that is kept only if the worker comes to its end
        return Made("40 papers are in one file.", "papers.zip")

Rules for a worker: never call `step` inside a transaction of its own (others could neither see it nor stop it); keep each
transaction short; whatever is raised leaves no file behind. `Refused` is told to the person in its own words, any other fault
in ours, and its traceback goes to the log.

A command runs its own work at once, in its own process: `run_here(Asked(…), person=…, at=…)` gives the work as it ended. It shows
in the list of works like any other, can be stopped from there, and its result is kept behind the same permission.
"""

from shop.long_work.asking import Asked, ask_stop, begin, run_here, start_anew
from shop.long_work.finding import is_lost, may_see, works_of
from shop.long_work.kinds import Kind, Made, kind_of
from shop.long_work.progress import Progress, Stopped
from shop.long_work.running import close_down, open_up, run_waiting

__all__ = [
    "Asked",
    "Kind",
    "Made",
    "Progress",
    "Stopped",
    "ask_stop",
    "begin",
    "close_down",
    "is_lost",
    "kind_of",
    "may_see",
    "open_up",
    "run_here",
    "run_waiting",
    "start_anew",
    "works_of",
]
