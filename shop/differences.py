"""What a check of the books found: its name, how many things it looked at, and what differs."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Found:
    """`differences` are sentences that name the thing and both figures."""

    name: str
    counted: int
    differences: tuple[str, ...]


Looker = Callable[[], Found]


def look(name: str, things: Iterable[Iterable[str]]) -> Found:
    """Count the things and collect what differs; each thing is given as the differences found at it, none if it agrees."""
    listed = [tuple(differences) for differences in things]
    return Found(name, len(listed), tuple(one for differences in listed for one in differences))


def differ(what: str, kept: object, derived: object) -> list[str]:
    """One sentence where what is kept isn't what the ledger gives."""
    return [] if kept == derived else [f"{what}: kept {kept}, derived {derived}"]
