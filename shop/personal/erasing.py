"""Erasing at the roof: every app erases its own in one transaction, and a request says what was done."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from urllib.parse import parse_qsl

from django.db import transaction
from django.utils import timezone

from billing.services.erasing import erase_papers
from jobs.services.erasing import erase_intake, erase_photos, erase_records, erase_sets
from shop.acts import Refused, Stale
from shop.append_only import erase_words
from shop.customers import erase_card
from shop.models import ENDED, Customer, DataRequest, DataRequestKind, KeptFilter, LongWork, Profile, Staff
from shop.personal.plan import Plan, plan_of
from shop.place import rules_of
from shop.search_text import fold

# Long work whose file or question may name customers.
NAMING_WORKS = ("papers_of_period", "statements", "claim_checks", "tags", "customers_from_cards", "data_copy")
COPY = "data_copy"
NAMELESS = "Work on customers, its file erased"
CHANGED = "Something changed since you opened this page. Look at what would be erased now, then confirm again."


@dataclass(frozen=True, slots=True)
class Wish:
    """What somebody asked for: the day, how (`by letter`), and whatever else is to be kept about it."""

    kind: str
    asked_on: date
    how: str = ""
    note: str = ""


@transaction.atomic
def erase(customer: Customer, wish: Wish, *, seen: str, person: Staff, at: datetime) -> DataRequest:
    """Erase what `plan_of` names. `seen` is the fingerprint of the plan that the person confirmed."""
    current = Customer.objects.select_for_update().get(pk=customer.pk)
    _check_wish(wish, at)
    plan = plan_of(current, timezone.localdate(at), rules_of(Profile.current()))
    if plan.fingerprint != seen:
        raise Stale(CHANGED)
    if not plan.going:
        raise Refused("Nothing can be erased now: what is left is kept for the reasons below.")
    if wish.kind == DataRequestKind.CLOCK and not plan.has_ended:
        raise Refused("The time of keeping hasn't ended: something is kept still. Look at the reasons below.", field="kind")
    _refuse_while_copying(current)
    _erase_all(plan, person, at)
    return _answered(current, wish, plan, person, at)


def _check_wish(wish: Wish, at: datetime) -> None:
    if wish.asked_on > timezone.localdate(at):
        raise Refused("The day lies ahead. Write the day on which they asked.", field="asked_on")


def _refuse_while_copying(customer: Customer) -> None:
    if LongWork.objects.exclude(state__in=ENDED).filter(kind=COPY, asked__customer=customer.pk).exists():
        raise Refused("A copy of this person's data is being made. Let it come to its end, or stop it, then erase.")


def _erase_all(plan: Plan, person: Staff, at: datetime) -> None:
    forget_works()
    erase_photos(plan.free, person=person, at=at)
    erase_intake(plan.free)
    erase_sets(plan.customer, plan.held)
    erase_records(plan.over)
    erase_papers(plan.over)
    if plan.has_ended:
        erase_words(DataRequest.objects.filter(customer=plan.customer))
    if plan.card_goes:
        forget_habits(plan.customer)
        erase_card(plan.customer, at=at)


def _answered(customer: Customer, wish: Wish, plan: Plan, person: Staff, at: datetime) -> DataRequest:
    kept = [
        {"what": one.what, "why": one.why, "law": one.law, "until": one.until_on.isoformat() if one.until_on else ""}
        for one in plan.staying
    ]
    answer = {"erased": {one.what: one.count for one in plan.going}, "kept": kept}
    return _record(customer, wish, answer, person, at)


def _record(customer: Customer, wish: Wish, answer: Mapping[str, object], person: Staff, at: datetime) -> DataRequest:
    return DataRequest.objects.create(
        customer=customer,
        kind=wish.kind,
        asked_on=wish.asked_on,
        how=wish.how.strip()[:80],
        note=wish.note.strip()[:300],
        answer=dict(answer),
        at=at,
        person=person,
    )


@transaction.atomic
def write_refusal(customer: Customer, wish: Wish, *, person: Staff, at: datetime) -> DataRequest:
    """A request that was refused, with its reason; GDPR article 12(4) wants the person told of it within a month."""
    _check_wish(wish, at)
    if not wish.note.strip():
        raise Refused("Write why it is refused, in the words in which they are told.", field="note")
    return _record(customer, wish, {}, person, at)


def forget_habits(customer: Customer) -> None:
    """Filters that people left on lists with this person's name, number or address in them."""
    digits = "".join(one for one in customer.phone if one.isdecimal())
    named = {fold(customer.name), fold(customer.email), digits, *(word for word in fold(customer.name).split() if len(word) > 2)}
    named.discard("")
    for kept in KeptFilter.objects.exclude(query=""):
        asked = " ".join(fold(value) for _, value in parse_qsl(kept.query))
        if any(name in asked for name in named):
            kept.delete()


def forget_works() -> None:
    """Files of long work that may name somebody, and the questions they came from; they would go by themselves within days."""
    works = LongWork.objects.filter(kind__in=NAMING_WORKS, state__in=ENDED)
    for work in works.exclude(result=""):
        transaction.on_commit(partial(work.result.storage.delete, str(work.result.name)))
    works.exclude(kind="customers_from_cards").update(result="", result_name="")
    works.filter(kind="customers_from_cards").update(result="", result_name="", asked={"cards": []})
    works.filter(kind=COPY).update(title=NAMELESS)


@transaction.atomic
def erase_ended(customers: Iterable[Customer], *, person: Staff, at: datetime) -> int:
    """Everybody whose time of keeping has ended; how many."""
    rules, day, count = rules_of(Profile.current()), timezone.localdate(at), 0
    for customer in customers:
        plan = plan_of(customer, day, rules)
        if plan.has_ended and plan.going:
            erase(customer, Wish(DataRequestKind.CLOCK, day), seen=plan.fingerprint, person=person, at=at)
            count += 1
    return count
