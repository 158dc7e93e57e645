"""What a search gives: groups of hits, each with the way to the full list."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.db.models import Model, QuerySet
from django.urls import resolve, reverse

from inventory.components.notation import Spec
from shop.models import Role
from shop.search_text import fold

LONGEST = 12
LONGEST_TEXT = 80


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing found. `url` is empty where this person may not open it; `tag` is a job's number, drawn as its tag.

    `is_numbered`: the text is its very number, so it may be opened at once.
    """

    one: Model
    url: str
    title: str
    words: str = ""
    tag: str = ""
    is_numbered: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """`count` is how many there are in all, None where nobody counted; `all_url` leads to them. `is_close`: by a likely slip."""

    kind: str
    heading: str
    hits: Sequence[Hit]
    count: int | None = None
    all_url: str = ""
    is_close: bool = False

    @property
    def is_more(self) -> bool:
        return self.count is not None and self.count > len(self.hits)


@dataclass(frozen=True, slots=True)
class Finds:
    """`readings` are the values that the text was taken for, in the order tried."""

    text: str
    groups: Sequence[Group] = ()
    readings: Sequence[Spec] = field(default_factory=tuple)

    @property
    def count(self) -> int:
        return sum(len(group.hits) for group in self.groups)

    def of(self, kind: str) -> list[Any]:
        return [hit.one for group in self.groups if group.kind == kind for hit in group.hits]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is searched for, by whom, and how much of it is wanted. `is_glance`: while typing, a few of each and none counted."""

    text: str
    role: str
    is_glance: bool = False

    @property
    def has_words(self) -> bool:
        """One letter is in nearly every name, so it is looked for in codes and numbers only."""
        return any(len(word) > 1 for word in fold(self.text).split())

    @property
    def most(self) -> int:
        return 4 if self.is_glance else LONGEST

    def url(self, name: str, *args: object, **query: object) -> str:
        """The address of a page, empty where this role may not open it."""
        address = reverse(name, args=args)
        roles = getattr(resolve(address).func, "roles", ())
        if self.role != Role.OWNER and self.role not in roles:
            return ""
        return f"{address}?{urlencode(query)}" if query else address

    def group(
        self,
        kind: str,
        heading: str,
        found: "QuerySet[Any]",
        hit: Callable[[Any], Hit],
        all_url: str = "",
        *,
        is_close: bool = False,
    ) -> Group | None:
        """The first few with how many there are; None where there are none."""
        rows = list(found[: self.most + 1])
        if not rows:
            return None
        more = len(rows) > self.most
        count = found.count() if more and not self.is_glance else None if more else len(rows)
        return Group(kind, heading, [hit(one) for one in rows[: self.most]], count, all_url)

    def few(
        self,
        kind: str,
        heading: str,
        rows: Iterable[Any],
        hit: Callable[[Any], Hit],
        all_url: str = "",
        *,
        is_close: bool = False,
    ) -> Group | None:
        """The same of rows that are there already."""
        listed = list(rows)
        if not listed:
            return None
        return Group(kind, heading, [hit(one) for one in listed[: self.most]], len(listed), all_url, is_close)


def tidy(text: str) -> str:
    return " ".join(text.replace("\0", " ").split())[:LONGEST_TEXT]
