"""The shop as its papers name it, read from the profile."""

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
        paper=profile.paper,
        currency=profile.currency,
        locale=profile.locale,
    )


def address_lines(address: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in address.splitlines() if line.strip())
