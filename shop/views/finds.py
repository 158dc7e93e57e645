"""What a search finds, by kind. A value finds parts near it, whichever way it is written: `.047` finds 47 nF."""

from dataclasses import dataclass, field

from django.db.models import Q

from billing.models import Invoice
from inventory.components.notation import Spec
from inventory.models import Part
from inventory.queries.parts import parts_matching, values_meant
from jobs.models import Job
from jobs.models.sets import RadioModel
from shop.models import Customer
from shop.search_text import fold

LONGEST = 12


@dataclass(frozen=True)
class Finds:
    """`readings` are the values that the text was taken for, in the order tried."""

    text: str
    jobs: list[Job] = field(default_factory=list)
    customers: list[Customer] = field(default_factory=list)
    models: list[RadioModel] = field(default_factory=list)
    invoices: list[Invoice] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    readings: list[Spec] = field(default_factory=list)

    @property
    def count(self) -> int:
        return len(self.jobs) + len(self.customers) + len(self.models) + len(self.invoices) + len(self.parts)


def jobs_matching(text: str) -> list[Job]:
    """By number, serial number, maker or model, or whose it is."""
    words = fold(text).split()
    found = Job.objects.with_heads()
    for word in words:
        mine = Q(number__icontains=word) | Q(radio__serial__icontains=word) | Q(radio__model__key__contains=word)
        found = found.filter(mine | Q(customer__search__contains=word))
    return list(found.order_by("-pk")[:LONGEST])


def models_matching(text: str) -> list[RadioModel]:
    found = RadioModel.objects.all()
    for word in fold(text).split():
        found = found.filter(key__contains=word)
    return list(found[:LONGEST])


def invoices_matching(text: str) -> list[Invoice]:
    found = Invoice.objects.filter(Q(number__icontains=text) | Q(job__number__iexact=text))
    return list(found.select_related("customer", "job").order_by("-pk")[:LONGEST])


def find(text: str) -> Finds:
    text = " ".join(text.replace("\0", " ").split())[:80]
    if not text:
        return Finds("")
    specs = values_meant(text)
    return Finds(
        text,
        jobs_matching(text),
        list(Customer.objects.matching(text)[:LONGEST]),
        models_matching(text),
        invoices_matching(text),
        list(parts_matching(text).with_stock().order_by("kind", "value_si", "volts", "pk")[:LONGEST]),
        specs,
    )
