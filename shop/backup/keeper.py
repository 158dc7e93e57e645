"""The daily copy: a thread of the serving process looks now and then whether one is due. Of several processes one makes it."""

import logging

from shop.backup import standing
from shop.backup.copies import DAILY, copies_in
from shop.backup.making import Wanted
from shop.backup.places import BUSY_CODE, own_place, turn
from shop.backup.proving import prove
from shop.backup.restoring import shop_here
from shop.backup.running import back_up_in_turn, keep_trouble
from shop.backup.troubles import Trouble
from shop.clock import now
from shop.long_work.now_and_then import NowAndThen

log = logging.getLogger("shop.backup")
FIRST_LOOK_SECONDS = 30.0
LOOK_EVERY_SECONDS = 60.0
# Of these nobody needs to be told tomorrow.
CLOSING = "closing"
PASSING = (CLOSING, BUSY_CODE)
FAULT = "A fault in the program ended the daily copy early. Make one now; if that fails too, the program's log says more."
OTHERS = "Look at the other copies, and choose a second place on another disk."


def copy_if_due() -> bool:
    """Whether one was made. Whoever else makes one just now is left to it."""
    if not standing.is_due(now()) or not shop_here():
        return False
    try:
        with turn() as place:
            if not standing.is_due(now()):
                return False
            back_up_in_turn(place, Wanted(DAILY, now()), tell=_stop_when_closing)
            _prove_an_old_one()
    except Trouble as trouble:
        log.warning("no daily copy: %s", trouble.message)
        if trouble.code not in PASSING:
            keep_trouble(trouble.message, now())
        return False
    return True


def _stop_when_closing(done: int, total: int) -> None:
    if _watch.is_closing:
        raise Trouble("The program was stopped while a copy was being made. The next start makes another.", code=CLOSING)


def _prove_an_old_one() -> None:
    """Disks rot in silence: each day the copy whose proof is oldest is proven again."""
    others = [copy for copy in copies_in(own_place())[1:] if copy.proof is not None and copy.is_good]
    oldest = min(others, key=lambda copy: copy.proof.at if copy.proof else now(), default=None)
    if oldest is None:
        return
    again = prove(oldest, now(), tell=_stop_when_closing)
    if again.is_bad and again.proof:
        raise Trouble(
            f"The copy {again.name} was good and is no longer: {again.proof.problems[0]}. Is the disk failing? {OTHERS}"
        )


def _failed() -> None:
    log.exception("the daily copy failed")
    keep_trouble(FAULT, now())


_watch = NowAndThen("daily copy", copy_if_due, _failed, first_seconds=FIRST_LOOK_SECONDS, every_seconds=LOOK_EVERY_SECONDS)
open_up = _watch.open_up
# A copy that is under way then is left half made, and cleared away by the next one.
close_down = _watch.close_down
