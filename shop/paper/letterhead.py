"""Who a paper comes from and whom it is for: the two heads that every printed page carries."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Letterhead:
    """The shop as it prints itself. `country` is two letters, `iban` the account to pay into.

    `paper` is `A4` or `Letter`; `locale` decides how dates and sums are written.
    """

    shop_name: str
    address_lines: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    registration: str = ""
    tax_id: str = ""
    country: str = ""
    iban: str = ""
    paper: str = "A4"
    currency: str = "GBP"
    locale: str = "en_GB"


@dataclass(frozen=True, slots=True)
class Party:
    """A customer as a paper names them."""

    name: str
    address_lines: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    tax_id: str = ""
