"""Setting up the shop and changing the terms it works under."""

from dataclasses import dataclass

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from shop.acts import Refused, Stale
from shop.models import Bench, Profile, Role, Staff
from shop.money import is_currency

# Line voltage, frequency, paper and locale by country: what a new profile starts with; the owner changes any of them.
COUNTRIES: dict[str, tuple[int, int, str, str]] = {
    "GB": (230, 50, "A4", "en_GB"),
    "IE": (230, 50, "A4", "en_IE"),
    "DE": (230, 50, "A4", "de_DE"),
    "FR": (230, 50, "A4", "fr_FR"),
    "NL": (230, 50, "A4", "nl_NL"),
    "US": (120, 60, "Letter", "en_US"),
    "CA": (120, 60, "Letter", "en_CA"),
    "AU": (230, 50, "A4", "en_AU"),
    "NZ": (230, 50, "A4", "en_NZ"),
    "JP": (100, 50, "A4", "ja_JP"),
}
ELSEWHERE = (230, 50, "A4", "en_GB")


@dataclass(frozen=True, slots=True)
class OwnerLogin:
    username: str
    password: str


def country_terms(country: str) -> dict[str, object]:
    volts, hertz, paper, locale = COUNTRIES.get(country, ELSEWHERE)
    return {"line_volts": volts, "line_hertz": hertz, "paper": paper, "locale": locale}


@transaction.atomic
def set_up(name: str, country: str, currency: str, login: OwnerLogin, *, bench_count: int = 1) -> Profile:
    """The first start: profile, owner, benches. Refused where a shop is there already."""
    if Profile.current() is not None:
        raise Refused("This shop is set up already.")
    if not name.strip():
        raise Refused("The shop needs a name.", field="name")
    if len(country) != 2 or not country.isalpha():
        raise Refused(f"“{country[:20]}” isn't a country code. Use two letters, such as GB or US.", field="country")
    if not is_currency(currency.upper()):
        raise Refused(f"“{currency[:20]}” isn't a currency code of ISO 4217. Use three letters, such as GBP or USD.", field="currency")
    profile = Profile.objects.create(
        pk=1, name=name.strip()[:120], country=country.upper(), currency=currency.upper(), **country_terms(country.upper())
    )
    add_staff(login.username, login.password, Role.OWNER)
    Bench.objects.bulk_create([Bench(name=f"Bench {n}", order=n) for n in range(1, bench_count + 1)])
    return profile


@transaction.atomic
def add_staff(username: str, password: str, role: str, shown_name: str = "") -> Staff:
    person = Staff(username=username.strip(), role=role, shown_name=shown_name)
    try:
        person.full_clean(exclude=["password"])
        validate_password(password, person)
    except ValidationError as error:
        raise Refused(" ".join(error.messages), field="username" if "username" in str(error) else "password") from error
    person.set_password(password)
    person.save()
    return person


@transaction.atomic
def change_profile(values: dict[str, object], *, seen: int) -> Profile:
    """Change the terms. What is frozen on estimates, log entries and invoices stays as it was."""
    current = Profile.objects.select_for_update().get(pk=1)
    if current.version != seen:
        raise Stale("The profile was changed by somebody else since you opened it. Compare, then send again.")
    for name, value in values.items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    return current
