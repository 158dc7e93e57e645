"""From a line of the day to the act that resolves it: a way is offered only to whoever may go it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.urls import resolve, reverse

from shop.access import may
from shop.models import Staff


@dataclass(frozen=True, slots=True)
class Way:
    """A link to an act, by its label."""

    label: str
    address: str


@dataclass(frozen=True, slots=True)
class Wish:
    """A way that would help. `roles`: who goes it, where the page itself is open to more people; `place`: where on the page."""

    label: str
    name: str
    args: tuple[object, ...] = ()
    roles: tuple[str, ...] | None = None
    place: str = ""


@dataclass
class Ways:
    """The ways of one person; what a page asks of roles is looked up once."""

    person: Staff
    _roles: dict[str, tuple[str, ...] | None] = field(default_factory=dict)

    def of(self, wishes: Iterable[Wish]) -> tuple[Way, ...]:
        return tuple(way for wish in wishes if (way := self.to(wish)) is not None)

    def to(self, wish: Wish) -> Way | None:
        address = reverse(wish.name, args=wish.args)
        if wish.name not in self._roles:
            self._roles[wish.name] = getattr(resolve(address).func, "roles", None)
        asked = [roles for roles in (self._roles[wish.name], wish.roles) if roles is not None]
        return Way(wish.label, address + wish.place) if all(may(self.person, *roles) for roles in asked) else None
