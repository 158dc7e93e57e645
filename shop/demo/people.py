"""The invented shop's profile, staff, benches and customers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.components.tables import toml_table
from shop.customers import CustomerFacts, add_customer
from shop.models import Bench, Customer, Profile, Staff
from shop.profile import OwnerLogin, add_staff, change_profile, set_up

PACKAGE = "shop.demo"


@dataclass(frozen=True, slots=True)
class Cast:
    """Who acts in the demo. `bench` and `second` are the two bench people, so that an override has its second person."""

    owner: Staff
    counter: Staff
    bench: Staff
    second: Staff
    customers: Sequence[Customer]
    benches: Sequence[Bench]


def data(name: str) -> dict[str, Any]:
    return toml_table(PACKAGE, name)


def logins() -> list[tuple[str, str, str]]:
    """Login, role and password of everybody who works in the invented shop."""
    people = data("people.toml")
    return [(one["login"], one["role"], people["password"]) for one in people["staff"]]


def open_shop(at: datetime) -> Cast:
    """Set the shop up with its terms and people. Refused where a shop is there already."""
    people = data("people.toml")
    shop = people["shop"]
    owner, *others = people["staff"]
    set_up(shop["name"], shop["country"], shop["currency"], OwnerLogin(owner["login"], people["password"]), bench_count=0)
    written = {name: value for name, value in shop.items() if name not in ("name", "country", "currency")}
    change_profile({**written, **people["terms"]}, seen=1)
    Staff.objects.filter(username=owner["login"]).update(shown_name=owner["name"])
    for one in others:
        add_staff(one["login"], people["password"], one["role"], one["name"])
    for order, name in enumerate(people["benches"], 1):
        Bench.objects.create(name=name, order=order)
    for one in people["customer"]:
        add_customer(CustomerFacts(**one), at=at)
    return cast()


def cast() -> Cast:
    """The people of a demo shop that is there."""
    people = data("people.toml")
    staff = {person.username: person for person in Staff.objects.all()}
    return Cast(
        staff["owner"],
        staff["counter"],
        staff["bench"],
        staff["bench2"],
        [Customer.objects.get(name=one["name"]) for one in people["customer"]],
        list(Bench.objects.filter(name__in=people["benches"])),
    )


def is_demo() -> bool:
    """Whether the shop in this database is the invented one."""
    profile = Profile.current()
    return profile is not None and profile.registration == data("people.toml")["shop"]["registration"]
