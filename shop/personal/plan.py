"""What erasing somebody's data would erase on a day, and what stays: why, under which law, until when."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format

from billing.queries.personal import paper_rows
from jobs.models import Job
from jobs.queries.personal import estimates_with_words, intakes_with_words, ledger_rows, photos_kept, sets_with_words
from shop.jurisdictions import Rules
from shop.models import Customer
from shop.personal.keeping import Kept, all_holds, all_records, held_by_customer, longest_by_job


@dataclass(frozen=True, slots=True)
class Going:
    """One kind of data, how many of it, and what of it is erased."""

    what: str
    count: int
    words: str


@dataclass(frozen=True, slots=True)
class Staying:
    """`until_on` and `law` where a law keeps it; what holds it otherwise ends by itself, and the page says how."""

    what: str
    why: str
    until_on: date | None = None
    law: str = ""


@dataclass(frozen=True, slots=True)
class Plan:
    """`free` jobs lose their words and photos, `over` of them also the names in their papers; `held` ones keep everything."""

    customer: Customer
    day: date
    going: tuple[Going, ...]
    staying: tuple[Staying, ...]
    free: tuple[int, ...]
    over: tuple[int, ...]
    held: tuple[int, ...]
    card_goes: bool

    @property
    def fingerprint(self) -> str:
        """Of exactly what the page shows, so that nothing else is erased than what was seen."""
        shown = [str(one) for one in (self.customer.pk, self.going, self.staying)]
        return hashlib.sha256("\n".join(shown).encode()).hexdigest()

    @property
    def has_ended(self) -> bool:
        """No law and nothing else keeps anything any more."""
        return not self.staying


def plan_of(customer: Customer, day: date, rules: Rules) -> Plan:
    jobs = {one.pk: one for one in Job.objects.filter(customer=customer).select_related("radio__model").order_by("pk")}
    found = all_holds(day, [customer.pk])
    why_card = held_by_customer(found, [customer.pk]).get(customer.pk, ())
    held = tuple(pk for pk in jobs if pk in found)
    free = tuple(pk for pk in jobs if pk not in found)
    longest = longest_by_job(all_records([customer.pk]), rules)
    kept = {pk: longest[pk] for pk in free if pk in longest and longest[pk].until_on >= day}
    over = tuple(pk for pk in free if pk not in kept)
    card_goes = customer.erased_at is None and not why_card
    going = tuple(one for one in _going(customer, free, over, held, card_goes) if one.count)
    return Plan(customer, day, going, tuple(_staying(customer, why_card, jobs, found, kept)), free, over, held, card_goes)


def _going(
    customer: Customer, free: Iterable[int], over: Iterable[int], held: Iterable[int], card_goes: bool
) -> "tuple[Going, ...]":
    records = sum(rows.count() for rows in (*ledger_rows(over), estimates_with_words(over), *paper_rows(over)))
    return (
        Going("Card", int(card_goes), "name, telephone, e-mail, address, tax number, reference and note"),
        Going("Sets", sets_with_words(customer, held).count(), "serial number and note; maker, model and year name nobody"),
        Going("Intake", intakes_with_words(free).count(), "the fault in their own words, the cabinet, what came along"),
        Going("Photos", photos_kept(free).count(), "the files in every size, and what was written with them"),
        Going("Papers and records", records, "names, addresses and free words; sums, numbers and dates stay"),
    )


def _staying(
    customer: Customer, why_card: Iterable[str], jobs: dict[int, Job], found: dict[int, list[str]], kept: dict[int, Kept]
) -> "Iterable[Staying]":
    if customer.erased_at is None and (whys := tuple(why_card)):
        yield Staying("Card", "; ".join(whys))
    for pk, job in jobs.items():
        if pk in found:
            yield Staying(f"All of {job.number}", "; ".join(found[pk]))
        elif pk in kept:
            record, rule = kept[pk].record, kept[pk].rule
            law = f"{rule.source.citation}; {rule.source.note}"
            yield Staying(
                f"Papers of {job.number}", f"newest: {record.what} of {date_format(record.on, 'j F Y')}", kept[pk].until_on, law
            )
