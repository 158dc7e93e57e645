"""What a search finds, by kind. A value finds parts near it, whichever way it is written: `.047` finds 47 nF."""

from dataclasses import dataclass, field

from django.db.models import Q

from billing.models import Invoice
from inventory.components.notation import NotationError, Spec, read_notation
from inventory.models import Part
from jobs.models import Job
from jobs.models.sets import RadioModel
from shop.models import Customer
from shop.search_text import fold

LONGEST = 12
# Near enough to be the same preferred value.
NEAR = 0.06


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
        return sum(map(len, (self.jobs, self.customers, self.models, self.invoices, self.parts)))


def values_meant(text: str) -> list[Spec]:
    """Every quantity the text may stand for; an ambiguous one finds the parts of all its readings."""
    found: list[Spec] = []
    for kind in ("capacitance", "resistance", "inductance"):
        try:
            found.append(read_notation(text, kind))
        except NotationError as error:
            found += [reading.spec for reading in error.readings]
    return [spec for spec in found if spec.kind in ("capacitance", "resistance", "inductance")]


def _near(specs: list[Spec]) -> Q:
    near = Q(pk__in=[])
    for spec in specs:
        value = float(spec.value)
        near |= Q(kind=spec.kind, value_si__range=(value * (1 - NEAR), value * (1 + NEAR)))
    return near


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


def parts_matching(text: str, specs: list[Spec]) -> list[Part]:
    by_words = Part.objects.matching(text).values("pk")
    return list(
        Part.objects.filter(_near(specs) | Q(pk__in=by_words)).with_stock().order_by("kind", "value_si", "volts", "pk")[:LONGEST]
    )


def find(text: str) -> Finds:
    text = " ".join(text.split())[:80]
    if not text:
        return Finds("")
    specs = values_meant(text)
    return Finds(
        text,
        jobs_matching(text),
        list(Customer.objects.matching(text)[:LONGEST]),
        models_matching(text),
        invoices_matching(text),
        parts_matching(text, specs),
        specs,
    )
