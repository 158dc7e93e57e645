"""Kinds of long work. The roof names them all in `settings.LONG_WORK`, as only it knows every app."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.conf import settings
from django.utils.module_loading import import_string

from shop.access import EVERYBODY
from shop.long_work.progress import Progress
from shop.models import LongWork


@dataclass(frozen=True, slots=True)
class Made:
    """What came of it: a sentence for the person, and the name to save the file under (blank: there is no file)."""

    said: str
    file_name: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """`counted`: what is counted, `papers drawn`. `once_stopped`: what a stop leaves behind. `roles` may start it."""

    worker: Callable[[LongWork, Progress], Made]
    counted: str
    once_stopped: str = "No file was made."
    roles: tuple[str, ...] = EVERYBODY


def kind_of(code: str) -> Kind | None:
    known: Mapping[str, Kind] = import_string(settings.LONG_WORK)
    return known.get(code)
