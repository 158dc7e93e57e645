"""The cards that the ledger refers to: parts, drawers, suppliers. Correcting one moves nothing."""

from dataclasses import asdict, astuple, dataclass, fields, replace
from datetime import date, datetime

from django.db import transaction

from inventory.models import Drawer, ListPriceChange, Part, Supplier
from inventory.queries.exchange import MILLION
from shop.acts import Refused, Stale
from shop.forms.seen import seen_of
from shop.models import Profile, Staff
from shop.money import is_currency
from shop.search_text import fold

# One unit of any currency costs less than a million of any other.
DEAREST_PPM = 10**12


@dataclass(frozen=True, slots=True)
class PartFacts:
    """A kind of part as written on its card. `value_si` in ohm, F or H; tolerances are signed percents."""

    kind: str
    marking: str
    technology: str = ""
    description: str = ""
    value_si: float | None = None
    volts: float | None = None
    watts: float | None = None
    tolerance_low: float | None = None
    tolerance_high: float | None = None
    safety_class: str = ""
    polarised: bool = False
    list_price_minor: int | None = None
    minimum: int = 0
    in_the_hour: bool = False
    in_use: bool = True


# What makes two cards one part. A value is the same however it is written; what has none is known by its marking.
_SAME = ("kind", "technology", "description", "volts", "watts", "tolerance_low", "tolerance_high", "safety_class", "polarised")


def _refuse_alike(facts: PartFacts, but: Part | None = None) -> None:
    by = "value_si" if facts.value_si is not None else "marking"
    alike = Part.objects.filter(**{name: getattr(facts, name) for name in (*_SAME, by)})
    if but is not None:
        alike = alike.exclude(pk=but.pk)
    if (one := alike.first()) is not None:
        raise Refused(
            f"There is a card for {one} already. Receive parts on that one, or say in the description how this one differs.",
            field="marking",
            code="alike",
        )


@transaction.atomic
def add_part(facts: PartFacts) -> Part:
    _refuse_alike(facts)
    return Part.objects.create(**asdict(facts))


@transaction.atomic
def change_part(part: Part, facts: PartFacts, *, seen: int, person: Staff, at: datetime) -> Part:
    """Correct a part's card. The change log keeps the text that it was written with; nothing in the ledger moves.

    Another list price is kept with its moment: what stock was worth on a past day is reckoned by the price of that day.
    """
    current = Part.objects.select_for_update().get(pk=part.pk)
    if current.version != seen:
        raise Stale("Somebody else changed this part since you opened it. Compare, then send again.")
    _refuse_alike(facts, current)
    if facts.list_price_minor != current.list_price_minor:
        before, after = current.list_price_minor, facts.list_price_minor
        ListPriceChange.objects.create(part=current, before_minor=before, after_minor=after, at=at, person=person)
    for name, value in asdict(facts).items():
        setattr(current, name, value)
    current.version += 1
    current.save()
    return current


@dataclass(frozen=True, slots=True)
class Place:
    """Where a drawer is. A tray that isn't divided has no compartment."""

    cabinet: str
    tray: str
    compartment: str = ""

    @property
    def code(self) -> str:
        return " / ".join(part for part in (self.cabinet, self.tray, self.compartment) if part)


def _refuse_taken(place: Place, but: Drawer | None = None) -> None:
    """Two drawers whose codes differ in capitals only would be one drawer to whoever reads the label."""
    for drawer in Drawer.objects.all():
        if fold(drawer.code) == fold(place.code) and drawer != but:
            raise Refused(f"There is a drawer {drawer} already.", field="cabinet", code="taken")


@transaction.atomic
def add_drawer(place: Place) -> Drawer:
    _refuse_taken(place)
    return Drawer.objects.create(**asdict(place))


@transaction.atomic
def change_drawer(drawer: Drawer, place: Place, *, seen: int) -> Drawer:
    """A drawer was moved or named anew; what lies in it stays in it."""
    current = Drawer.objects.select_for_update().get(pk=drawer.pk)
    if drawer_seen(current) != seen:
        raise Stale("Somebody else named this drawer anew since you opened it. Compare, then send again.")
    _refuse_taken(place, current)
    current.cabinet, current.tray, current.compartment = place.cabinet, place.tray, place.compartment
    current.save()
    return current


def drawer_seen(drawer: Drawer) -> int:
    return seen_of((drawer.cabinet, drawer.tray, drawer.compartment))


@dataclass(frozen=True, slots=True)
class SupplierFacts:
    """Who they are and on what terms they sell. Sums in the smallest coin of `currency`, the shop's own where that is empty.

    `exchange_ppm`: what one unit of their money costs in millionths of one of the shop's, by the rate of the day `exchange_on`.
    """

    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    return_days: int = 0
    warranty_days: int | None = None
    note: str = ""
    currency: str = ""
    exchange_ppm: int = MILLION
    exchange_on: date | None = None
    lead_days: int = 7
    minimum_order_minor: int = 0
    carriage_minor: int = 0
    carriage_free_from_minor: int | None = None
    our_number: str = ""
    in_use: bool = True


def supplier_facts(supplier: Supplier) -> SupplierFacts:
    return SupplierFacts(**{field.name: getattr(supplier, field.name) for field in fields(SupplierFacts)})


def supplier_seen(supplier: Supplier) -> int:
    return seen_of(astuple(supplier_facts(supplier)))


def _refuse_same_name(name: str, but: Supplier | None = None) -> None:
    for pk, known in Supplier.objects.values_list("pk", "name"):
        if fold(known) == fold(name) and (but is None or pk != but.pk):
            raise Refused(f"{known} is written down already.", field="name", code="known")


def _with_rate(facts: SupplierFacts) -> SupplierFacts:
    """Their money needs a rate with its day; the shop's own needs none."""
    ours = (Profile.current() or Profile()).currency
    if facts.currency in ("", ours):
        return replace(facts, exchange_ppm=MILLION, exchange_on=None)
    if not is_currency(facts.currency):
        raise Refused(f"“{facts.currency}” isn't a currency code of ISO 4217.", field="currency", code="currency")
    if not 0 < facts.exchange_ppm <= DEAREST_PPM:
        raise Refused(f"Say what 1 {facts.currency} costs in {ours}, such as 0.86.", field="exchange", code="rate")
    if facts.exchange_on is None:
        raise Refused("Say of which day this rate is.", field="exchange_on", code="rate_day")
    return facts


@transaction.atomic
def add_supplier(facts: SupplierFacts) -> Supplier:
    _refuse_same_name(facts.name)
    return Supplier.objects.create(**asdict(_with_rate(facts)))


@transaction.atomic
def change_supplier(supplier: Supplier, facts: SupplierFacts, *, seen: int) -> Supplier:
    """Return windows of lots that came already were reckoned when they came, and stay; so do orders that were sent."""
    current = Supplier.objects.select_for_update().get(pk=supplier.pk)
    if supplier_seen(current) != seen:
        raise Stale("Somebody else changed this supplier since you opened it. Compare, then send again.")
    _refuse_same_name(facts.name, current)
    for name, value in asdict(_with_rate(facts)).items():
        setattr(current, name, value)
    current.save()
    return current
