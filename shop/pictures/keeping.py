"""Pictures on the disk: each under a name that nobody can guess, the smaller ones beside it under names made from that."""

import hashlib
import secrets
from pathlib import Path

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db.models.fields.files import FieldFile

from shop.pictures.reading import SIDES, Picture, smaller


def keep_picture(image: FieldFile, picture: Picture) -> None:
    """Put the picture and its smaller ones into the shop's folder; the row is saved by the caller."""
    image.save(picture.name, ContentFile(picture.content, picture.name), save=False)
    for side, content in zip(SIDES, picture.smaller, strict=False):
        _put_beside(image, side, content)


def kept_bytes(image: FieldFile, side: int = 0) -> bytes:
    """The picture's file, or with `side` the smaller one of that size, made now where an older picture has none yet.

    Raises FileNotFoundError where the picture's file is gone, Refused where it is no picture any more.
    """
    if not image.name:
        raise FileNotFoundError
    if side and _beside(image, side).is_file():
        return _beside(image, side).read_bytes()
    with image.open("rb") as file:
        content: bytes = file.read()
    if not side:
        return content
    small = smaller(content, side)
    _put_beside(image, side, small)
    return small


def remove_kept(storage: Storage, name: str) -> None:
    """Take a picture's file and its smaller ones off the disk; what is gone already is no fault."""
    kept = Path(storage.path(name))
    for place in (kept, *(_named_beside(kept, side) for side in SIDES)):
        place.unlink(missing_ok=True)


def is_kept(image: FieldFile) -> bool:
    return bool(image.name) and image.storage.exists(str(image.name))


def digest_kept(image: FieldFile) -> str:
    """SHA-256 of the picture's file as it is now; an empty text where it is gone."""
    try:
        with image.storage.open(str(image.name), "rb") as file:
            return hashlib.sha256(file.read()).hexdigest()
    except OSError:
        return ""


def _beside(image: FieldFile, side: int) -> Path:
    return _named_beside(Path(image.storage.path(str(image.name))), side)


def _named_beside(kept: Path, side: int) -> Path:
    return kept.with_name(f"{kept.stem}-{side}.jpg")


def _put_beside(image: FieldFile, side: int, content: bytes) -> None:
    """Whole or not at all. Where the folder takes nothing, the smaller picture is made anew each time it is asked for."""
    place = _beside(image, side)
    waiting = place.with_name(f"{place.stem}.{secrets.token_hex(4)}.part")
    try:
        waiting.write_bytes(content)
        waiting.replace(place)
    except OSError:
        waiting.unlink(missing_ok=True)
