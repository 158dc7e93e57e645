"""The shop as its papers name it, read from the profile."""

from dataclasses import asdict, replace
from typing import Any

from shop.models import Profile
from shop.paper import Letterhead


def letterhead(profile: Profile | None = None) -> Letterhead:
    """The head of every paper; `profile` saves the query where a page has it already. Before set-up it names nobody."""
    profile = profile or Profile.current() or Profile(name="Workshop")
    return Letterhead(
        shop_name=profile.name,
        address_lines=address_lines(profile.address),
        phone=profile.phone,
        email=profile.email,
        registration=profile.registration,
        tax_id=profile.tax_id,
        country=profile.country,
        iban=profile.iban,
        paper=profile.paper,
        currency=profile.currency,
        locale=profile.locale,
    )


def kept(head: Letterhead) -> dict[str, Any]:
    """A letterhead as plain data, to be frozen with a paper that was issued under it."""
    return asdict(head)


def as_it_was(frozen: dict[str, Any], today: Letterhead) -> Letterhead:
    """The letterhead a paper was issued under; what was not frozen then is today's."""
    known = {name: value for name, value in frozen.items() if name in Letterhead.__dataclass_fields__}
    if "address_lines" in known:
        known["address_lines"] = tuple(known["address_lines"])
    return replace(today, **known)


def address_lines(address: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in address.splitlines() if line.strip())
