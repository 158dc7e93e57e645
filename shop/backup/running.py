"""One whole backup: make, prove, carry to the second place, thin, write down what happened."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.utils.timezone import localtime

from shop.backup import second_place, thinning
from shop.backup.copies import BEFORE_TABLES, Copy, copies_in, read_copy, write_whole
from shop.backup.making import Wanted, make
from shop.backup.photos import Tell
from shop.backup.places import BUSY_CODE, is_name, own_place, remove, turn
from shop.backup.proving import prove
from shop.backup.troubles import Trouble
from shop.models import AccessKind, BackupPlan, Staff
from shop.sign_in.events import note

WAIT_FOR_TURN_SECONDS = 600
TROUBLE = "last-trouble.json"
NO_TELL: Tell = lambda done, total: None  # noqa: E731


@dataclass(frozen=True, slots=True)
class Done:
    """`second`: what went wrong with the second place; empty where nothing did or none is chosen."""

    copy: Copy
    went: tuple[str, ...] = ()
    second: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """The last trouble; `about` is what didn't work."""

    at: datetime
    text: str


def plan_now() -> BackupPlan:
    """The plan as it stands, or the one that a new shop starts with; nothing is written."""
    return BackupPlan.objects.filter(pk=1).first() or BackupPlan(pk=1)


def back_up(
    wanted: Wanted, *, person: Staff | None = None, wait_seconds: float = WAIT_FOR_TURN_SECONDS, tell: Tell = NO_TELL
) -> Done:
    """Raises Trouble where no good copy came of it; that is kept for the owner's page, too."""
    with _kept_trouble(wanted.at), turn(wait_seconds=wait_seconds) as place:
        return back_up_in_turn(place, wanted, person=person, tell=tell)


def back_up_in_turn(place: Path, wanted: Wanted, *, person: Staff | None = None, tell: Tell = NO_TELL) -> Done:
    made, read = make(place, wanted, tell)
    copy = prove(made, wanted.at, read=read, tell=tell)
    if not copy.is_good:
        problem = copy.proof.problems[0] if copy.proof else "it couldn't be proven"
        raise Trouble(f"A copy was made, but restoring it to prove it didn't work: {problem}. It doesn't count; make one again.")
    if wanted.why == BEFORE_TABLES:
        return Done(copy)
    plan = plan_now()
    second = _carried(copy, plan, tell)
    went = _thinned(place, plan, wanted.at)
    note(AccessKind.BACKUP, at=wanted.at, person=person, note=f"{copy.name}, {copy.manifest.why_words}")
    _forget_trouble(second, wanted.at)
    return Done(copy, tuple(went), second)


def _carried(copy: Copy, plan: BackupPlan, tell: Tell) -> str:
    if not plan.second_place:
        return ""
    try:
        second_place.carry(copy, Path(plan.second_place), tell)
    except (Trouble, OSError) as trouble:
        return str(trouble)
    return ""


def _thinned(place: Path, plan: BackupPlan, at: datetime) -> list[str]:
    """Names that went here, and with them in the second place; what can't be deleted stays until next time."""
    aged = [
        thinning.Aged(one.name, localtime(one.made_at), one.is_good, one.manifest.kept, one.manifest.why == BEFORE_TABLES)
        for one in copies_in(place)
    ]
    kept_for = thinning.Plan(plan.keep_days, plan.keep_weeks, plan.keep_months, plan.keep_years)
    names = thinning.going(aged, kept_for, localtime(at))
    for name in names:
        remove(place / name)
    second = Path(plan.second_place) if plan.second_place else None
    if second and second.is_dir():
        second_place.thin(second, names)
    return names


def prove_again(name: str, at: datetime, *, tell: Tell = NO_TELL, wait_seconds: float = WAIT_FOR_TURN_SECONDS) -> Copy:
    """One that was made before; raises Trouble where there is none of that name."""
    with turn(wait_seconds=wait_seconds) as place:
        return prove(read_copy(folder_of(name, place)), at, tell=tell)


def folder_of(name: str, place: Path | None = None) -> Path:
    """Where a copy of that name lies: here, or else in the second place. Raises Trouble."""
    second = plan_now().second_place
    for one in (place or own_place(), *([Path(second)] if second else [])):
        if is_name(name) and (one / name).is_dir():
            return one / name
    raise Trouble("There is no copy of that name any more. The list shows those that there are.")


def _trouble_files() -> tuple[Path, Path]:
    """Where a full or unwritable folder of copies takes nothing, the shop's folder may."""
    return own_place() / TROUBLE, Path(settings.SHOP_FOLDER) / TROUBLE


@contextmanager
def _kept_trouble(at: datetime) -> Iterator[None]:
    try:
        yield
    except Trouble as trouble:
        if trouble.code != BUSY_CODE:
            keep_trouble(trouble.message, at)
        raise


def keep_trouble(text: str, at: datetime) -> None:
    for path in _trouble_files():
        try:
            write_whole(path, json.dumps({"at": at.isoformat(), "text": text}, ensure_ascii=False))
        except OSError:
            continue
        return


def last_trouble() -> Told | None:
    found = []
    for path in _trouble_files():
        try:
            told = json.loads(path.read_text("utf-8"))
            found.append(Told(datetime.fromisoformat(told["at"]), str(told["text"])))
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return max(found, key=lambda one: one.at, default=None)


def _forget_trouble(second: str, at: datetime) -> None:
    for path in _trouble_files():
        path.unlink(missing_ok=True)
    if second:
        keep_trouble(second, at)
