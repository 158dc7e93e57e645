"""Setting up the shop and changing the terms it works under: profile, staff, benches, markup ladder."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from shop.acts import Refused, Stale
from shop.calendars.links import end_links
from shop.forms.seen import seen_of
from shop.jurisdictions import STRICTEST
from shop.models import Bench, MarkupStep, Profile, Role, SignedIn, Staff
from shop.money import is_currency
from shop.place import OF_COUNTRY, check_allowance
from shop.search_text import fold
from shop.sign_in.own_password import note_password
from shop.sign_in.places import end_all
from shop.tax_terms import check_tax_terms

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


def farads_liked() -> str:
    """How the shop likes capacitance written, where there is no request to ask; the usual way before set-up."""
    return (Profile.current() or Profile()).capacitance_style


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
        raise Refused(
            f"“{currency[:20]}” isn't a currency code of ISO 4217. Use three letters, such as GBP or USD.", field="currency"
        )
    profile = Profile.objects.create(
        pk=1,
        name=name.strip()[:120],
        country=country.upper(),
        currency=currency.upper(),
        jurisdiction=OF_COUNTRY.get(country.upper(), STRICTEST),
        **country_terms(country.upper()),
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
    check_allowance(current)
    check_tax_terms(current)
    current.version += 1
    current.save()
    return current


@dataclass(frozen=True, slots=True)
class StaffFacts:
    role: str
    shown_name: str
    is_active: bool


def staff_seen(person: Staff) -> int:
    return seen_of((person.role, person.shown_name, person.is_active))


@transaction.atomic
def change_staff(person: Staff, facts: StaffFacts, *, seen: int, by: Staff, at: datetime) -> Staff:
    """Role, printed name, and whether somebody may sign in. The last owner stays one, and nobody shuts the door on themselves."""
    # Locked all at once: two owners who demote each other in the same moment would leave none.
    owners = {one.pk for one in Staff.objects.select_for_update().filter(role=Role.OWNER, is_active=True).order_by("pk")}
    current = Staff.objects.select_for_update().get(pk=person.pk)
    if staff_seen(current) != seen:
        raise Stale("Somebody else changed this person's card since you opened it. Compare, then send again.")
    if current.pk == by.pk and not facts.is_active:
        raise Refused("You would shut yourself out. Let another owner do it.", field="is_active")
    stays_owner = facts.role == Role.OWNER and facts.is_active
    if owners == {current.pk} and not stays_owner:
        field = "role" if facts.is_active else "is_active"
        raise Refused(f"{current} is the only owner who can sign in. Make somebody else an owner first.", field=field)
    current.role, current.shown_name, current.is_active = facts.role, facts.shown_name, facts.is_active
    current.save(update_fields=["role", "shown_name", "is_active"])
    if not current.is_active:
        end_links(current, at=at)
        end_all(current, at=at)
    return current


@transaction.atomic
def give_password(
    person: Staff, password: str, *, by: Staff | None, at: datetime, but: SignedIn | None = None, address: str = ""
) -> Staff:
    """A new password for somebody. It ends the private links of their calendars and every place of being signed in, save `but`.

    One that somebody else gave is good for coming in once: then its owner chooses another. `by` is None for whoever may run
    commands at the shop's own computer.
    """
    current = Staff.objects.select_for_update().get(pk=person.pk)
    try:
        validate_password(password, current)
    except ValidationError as error:
        raise Refused(" ".join(error.messages), field="password") from error
    current.set_password(password)
    current.save(update_fields=["password"])
    end_links(current, at=at)
    end_all(current, at=at, but=but)
    note_password(current, by=by, at=at, address=address)
    return current


@dataclass(frozen=True, slots=True)
class BenchFacts:
    name: str
    order: int = 0
    in_use: bool = True


def bench_seen(bench: Bench) -> int:
    return seen_of((bench.name, bench.order, bench.in_use))


def _refuse_same_bench(name: str, but: Bench | None = None) -> None:
    if any(fold(known.name) == fold(name) and known != but for known in Bench.objects.all()):
        raise Refused(f"There is a bench called {name} already.", field="name")


@transaction.atomic
def add_bench(facts: BenchFacts) -> Bench:
    _refuse_same_bench(facts.name)
    return Bench.objects.create(name=facts.name, order=facts.order, in_use=facts.in_use)


@transaction.atomic
def change_bench(bench: Bench, facts: BenchFacts, *, seen: int) -> Bench:
    """Whether a job stands on it is for the caller to see: this floor knows no jobs."""
    current = Bench.objects.select_for_update().get(pk=bench.pk)
    if bench_seen(current) != seen:
        raise Stale("Somebody else changed this bench since you opened it. Compare, then send again.")
    _refuse_same_bench(facts.name, current)
    current.name, current.order, current.in_use = facts.name, facts.order, facts.in_use
    current.save()
    return current


def ladder_seen(part_kind: str = "") -> int:
    return seen_of(MarkupStep.objects.filter(part_kind=part_kind).values_list("cost_up_to_minor", "factor_percent"))


@transaction.atomic
def save_ladder(rungs: Sequence[tuple[int, int]], *, seen: int, part_kind: str = "") -> None:
    """A whole markup ladder anew: (unit cost up to, minor units; selling price in % of cost).

    `part_kind` is the kind of part whose own ladder it is; without rungs of its own a kind goes by the ladder of all others,
    and without those the usual rungs hold.
    """
    # The ladder has no row of its own to lock.
    Profile.objects.select_for_update().filter(pk=1).first()
    if ladder_seen(part_kind) != seen:
        raise Stale("Somebody else changed the ladder since you opened it. Compare, then send again.")
    costs = [cost for cost, _ in rungs]
    if len(set(costs)) != len(costs):
        raise Refused("Two rungs end at the same cost. Take one of them out.")
    MarkupStep.objects.filter(part_kind=part_kind).delete()
    MarkupStep.objects.bulk_create(
        MarkupStep(part_kind=part_kind, cost_up_to_minor=cost, factor_percent=factor) for cost, factor in sorted(rungs)
    )
