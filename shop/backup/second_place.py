"""The second place: another disk, a stick, a folder of another machine. Copies are carried there and checked there.

A mark lies in it, so that an empty folder under which no stick hangs today isn't taken for it.
"""

import shutil
from pathlib import Path

from shop.backup.copies import PHOTOS, PROOF, Copy, newest_in, read_copy, write_whole
from shop.backup.photos import Tell, copy_file, digest_of, faults_in, read_list
from shop.backup.places import GOING, PART, is_name, remove
from shop.backup.proving import files_spoilt
from shop.backup.troubles import Trouble, words_of

MARK = "second-place-of-the-workshop.txt"
MARK_TEXT = (
    "Copies of a workshop lie here, each in a folder named by its moment (UTC). Restore one with\n"
    "    python3 manage.py restore FOLDER\n"
    "The program deletes old copies here by its plan. Don't take this file away: by it the place is known.\n"
)


def choose(place: Path) -> None:
    """Put the mark there. Raises Trouble that says why this can be no second place."""
    if not place.is_absolute():
        raise Trouble("Give the whole path, beginning at the root, such as /media/stick/workshop.", field="second_place")
    if not place.is_dir():
        raise Trouble(f"There is no folder {place}. Put the stick in or make the folder, then save again.", field="second_place")
    try:
        write_whole(place / MARK, MARK_TEXT)
    except OSError as error:
        raise Trouble(words_of(error, "This place can't be used").message, field="second_place") from error


def see(place: Path) -> None:
    """Raises Trouble where it isn't there today."""
    if not place.is_dir():
        raise Trouble(f"The second place {place} isn't there. Put the stick in or switch the other machine on, then make a copy.")
    if not (place / MARK).is_file():
        raise Trouble(
            f"{place} isn't the second place that was chosen: its mark is missing. See that the right stick is in; "
            "or save the plan again to use what is there now."
        )


def carry(copy: Copy, place: Path, tell: Tell = lambda done, total: None, *, is_marked: bool = True) -> Copy:
    """The copy as it stands in the second place, or in any folder where no mark is asked for; read again there."""
    if is_marked:
        see(place)
    _clear(place)
    target, earlier = place / copy.name, next(newest_in(place), None)
    if target.exists():
        return read_copy(target)
    draft = place / (copy.name + PART)
    try:
        draft.mkdir(mode=0o700)
        shared = _photos(copy, draft, earlier, tell)
        for kept in copy.manifest.files:
            copy_file(copy.folder / kept.name, draft / kept.name)
        for name in ("manifest.json", PROOF):
            write_whole(draft / name, (copy.folder / name).read_text("utf-8"))
        _refuse_spoilt(draft, shared)
        draft.rename(target)
    except OSError as error:
        raise words_of(error, "The copy couldn't be carried to the second place") from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
    return read_copy(target)


def _clear(place: Path) -> None:
    for path in place.iterdir():
        if path.suffix in (PART, GOING) and is_name(path.stem) and path.is_dir():
            shutil.rmtree(path, ignore_errors=True)


def _photos(copy: Copy, draft: Path, earlier: Copy | None, tell: Tell) -> set[str]:
    """Names of those that are shared with an earlier copy there: they were read and are right."""
    told, there, shared = read_list(copy.folder), read_list(earlier.folder) if earlier else {}, set[str]()
    (draft / PHOTOS).mkdir(mode=0o700)
    for seen, (name, digest) in enumerate(told.items()):
        tell(seen, len(told))
        (draft / name).parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if earlier and there.get(name) == digest and _share(earlier.folder / name, draft / name, digest):
            shared.add(name)
        else:
            copy_file(copy.folder / name, draft / name)
    return shared


def _share(there: Path, here: Path, digest: str) -> bool:
    try:
        if digest_of(there) != digest:
            return False
        here.hardlink_to(there)
    except OSError:
        return False
    return True


def _refuse_spoilt(draft: Path, shared: set[str]) -> None:
    spoilt = [*files_spoilt(read_copy(draft)), *faults_in(draft, but=shared)]
    if spoilt:
        raise Trouble(
            f"What was written to the second place can't be read back as it was: {spoilt[0]}. Try another stick or disk."
        )


def thin(place: Path, names: list[str]) -> None:
    """Take away there what went here."""
    for name in names:
        if (place / name).is_dir():
            remove(place / name)
