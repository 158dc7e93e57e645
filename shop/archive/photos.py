"""The files that rows name: photos and drawings. Smaller pictures beside them are made anew, so they stay behind."""

import hashlib
import secrets
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import IO, Any

from django.conf import settings
from django.db import models

from shop.archive.refusing import Unfit
from shop.archive.tables import taken

AT_ONCE = 1 << 20
LONGEST_NAME = 200


def named(apps: Any, alias: str) -> list[str]:
    """Names of all files that rows of this database name, in order, each once."""
    found: set[str] = set()
    for model in taken(apps):
        for field in model._meta.concrete_fields:
            if isinstance(field, models.FileField):
                rows = model._base_manager.using(alias).exclude(**{field.attname: ""})
                found.update(str(name) for name in rows.values_list(field.attname, flat=True).iterator(2000))
    return sorted(found)


def path_of(name: str) -> Path:
    """Where the file of this name is kept. Raises Unfit for a name that leads out of the folder of photos."""
    parts = PurePosixPath(name).parts
    if not parts or len(name) > LONGEST_NAME or any(not _is_plain(part) for part in parts) or "/".join(parts) != name:
        raise Unfit(f"“{name[:80]}” isn't the name of a photo of a shop.")
    return Path(settings.MEDIA_ROOT).joinpath(*parts)


def _is_plain(part: str) -> bool:
    return part.isprintable() and not part.startswith(".") and not set(part) & set('/\\:*?"<>|') and not part.endswith((".", " "))


def pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(AT_ONCE):
        yield piece


class Arriving:
    """Files written to their places, which are taken back unless the rows that name them come, too."""

    def __init__(self) -> None:
        self._made: list[Path] = []

    def put(self, name: str, file: IO[bytes], digest: str) -> None:
        """What lies there already with the same content stays. Raises Unfit where something else lies there."""
        place = path_of(name)
        if place.exists():
            with place.open("rb") as there:
                if hashlib.file_digest(there, "sha256").hexdigest() == digest:  # type: ignore[arg-type]
                    return
            raise Unfit(
                f"The folder of photos holds another file {name} already. Give the archive an empty folder by SHOP_FOLDER."
            )
        place.parent.mkdir(parents=True, exist_ok=True)
        waiting = place.with_name(f"{place.name}.{secrets.token_hex(4)}.part")
        try:
            with waiting.open("wb") as out:
                for piece in pieces(file):
                    out.write(piece)
            waiting.replace(place)
        finally:
            waiting.unlink(missing_ok=True)
        self._made.append(place)

    def take_back(self) -> None:
        for place in self._made:
            place.unlink(missing_ok=True)
