"""Customers: adding, correcting, and noticing that somebody is known already."""

from dataclasses import dataclass
from datetime import datetime

import phonenumbers
from django.db import transaction
from django.db.models import F, Q

from shop.acts import Refused, Stale
from shop.models import Customer, Profile
from shop.search_text import fold


@dataclass(frozen=True, slots=True)
class CustomerFacts:
    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""
    country: str = ""
    tax_id: str = ""
    buyer_reference: str = ""


def readable_phone(text: str, country: str) -> str:
    """A number in its international form where it can be read as one; otherwise as it was typed."""
    try:
        number = phonenumbers.parse(text, country)
    except phonenumbers.NumberParseException:
        return text.strip()
    if not phonenumbers.is_possible_number(number):
        return text.strip()
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.INTERNATIONAL)


def _country(text: str) -> str:
    code = text.strip().upper()
    if code and not (len(code) == 2 and code.isascii() and code.isalpha()):
        raise Refused(f"“{code[:20]}” isn't a country code. Use two letters, such as DE, or leave it empty.", field="country")
    return code


def _values(facts: CustomerFacts) -> dict[str, str]:
    if len(facts.name.strip()) < 2:
        raise Refused("Write the customer's name.", field="name")
    profile = Profile.current()
    country = profile.country if profile else "GB"
    return {
        "name": facts.name.strip()[:160],
        "phone": readable_phone(facts.phone, country)[:40] if facts.phone.strip() else "",
        "email": facts.email.strip()[:254],
        "address": facts.address.strip(),
        "note": facts.note.strip(),
        "country": _country(facts.country),
        "tax_id": facts.tax_id.strip()[:60],
        "buyer_reference": facts.buyer_reference.strip()[:60],
    }


@transaction.atomic
def add_customer(facts: CustomerFacts, *, at: datetime) -> Customer:
    return Customer.objects.create(created_at=at, **_values(facts))


@transaction.atomic
def change_customer(customer: Customer, facts: CustomerFacts, *, seen: int) -> Customer:
    current = Customer.objects.select_for_update().get(pk=customer.pk)
    if current.version != seen:
        raise Stale("This customer was changed by somebody else since you opened the page. Compare, then send again.")
    if current.erased_at is not None:
        raise Refused("What this card said was erased, so nothing is written on it again. Write a new card for this person.")
    for name, value in _values(facts).items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    return current


@transaction.atomic
def erase_card(customer: Customer, *, at: datetime) -> None:
    """Everything a card says of a person; a counted name stands in its place. Nothing finds it by a name any more."""
    count = Customer.objects.filter(erased_at__isnull=False).count() + 1
    words = ("phone", "email", "address", "country", "tax_id", "buyer_reference", "note", "search")
    changed = {"name": f"erased customer {count}", "erased_at": at, "version": F("version") + 1}
    Customer.objects.filter(pk=customer.pk).update(**dict.fromkeys(words, ""), **changed)
    customer.refresh_from_db()


class KnownAlready(Refused):
    """Not added yet: `alike` may be the same person. A page offers them, or takes the answer that it's somebody else."""

    def __init__(self, alike: list[Customer]) -> None:
        super().__init__(
            "Somebody much alike is known already. Use that card, or say that it's somebody else.", code="known_already"
        )
        self.alike = alike


def refuse_known(facts: CustomerFacts) -> None:
    if alike := known_already(facts):
        raise KnownAlready(alike)


def known_already(facts: CustomerFacts) -> list[Customer]:
    """Customers that may be the same person: the same e-mail, the same number, or the same name. At most ten."""
    profile = Profile.current()
    phone = readable_phone(facts.phone, profile.country if profile else "GB")
    same = Q(pk__in=[])
    if facts.email.strip():
        same |= Q(email__iexact=facts.email.strip())
    if phone:
        same |= Q(phone=phone)
    if facts.name.strip():
        same |= Q(search__startswith=fold(facts.name))
    return list(Customer.objects.filter(same)[:10])
