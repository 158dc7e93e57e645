"""Making and proving copies of the whole shop, asked for on the page of backups."""

from shop.backup.copies import ASKED
from shop.backup.making import Wanted, megabytes
from shop.backup.running import back_up, prove_again
from shop.clock import now
from shop.long_work import Made, Progress
from shop.models import LongWork

WAIT_SECONDS = 5


def make_copy(work: LongWork, progress: Progress) -> Made:
    done = back_up(Wanted(ASKED, now()), person=work.person, wait_seconds=WAIT_SECONDS, tell=progress.step)
    made = done.copy.manifest
    said = f"A good copy of {megabytes(made.bytes)} was made ({megabytes(made.bytes_new)} new) and proven by restoring it."
    return Made(f"{said} But: {done.second}"[:400] if done.second else said)


def prove_copy(work: LongWork, progress: Progress) -> Made:
    """`name` is the copy's."""
    copy = prove_again(work.asked["name"], now(), tell=progress.step, wait_seconds=WAIT_SECONDS)
    if copy.is_good:
        return Made("It was restored in a scratch place and found good.")
    problem = copy.proof.problems[0] if copy.proof else "it couldn't be looked at"
    return Made(f"It is not good: {problem}. Make a new copy now, and see that the disk is sound."[:400])
