"""What a search finds, by kind. A value finds parts near it, whichever way it is written: `.047` finds 47 nF."""

from collections.abc import Iterator

from django.db.models import Q, QuerySet

from inventory.queries.parts import values_meant
from jobs.models import Job
from jobs.models.sets import RadioModel, RadioSet
from jobs.queries.jobs import matching, sets_called, sets_matching
from jobs.queries.known import models_matching
from shop.models import Bench, Customer
from shop.search_text import fold
from shop.views.find_close import close_to, is_worth_trying
from shop.views.find_papers import Typed, estimates, jobs_numbered, papers, read_number
from shop.views.find_parts import in_the_drawers
from shop.views.found import Asked, Finds, Group, Hit, tidy

LITTLE = 3
FEWEST_FIGURES = 5


def find(text: str, role: str, *, is_glance: bool = False) -> Finds:
    asked = Asked(tidy(text), role, is_glance)
    if not fold(asked.text):
        return Finds("")
    readings = values_meant(asked.text)
    typed = read_number(asked.text)
    groups = [_jobs(asked, typed)]
    if asked.has_words:
        groups += [_customers(asked), _sets(asked), _models(asked), _benches(asked)]
    groups += papers(asked, typed)
    groups += [estimates(asked, typed), *in_the_drawers(asked, readings)]
    found = [group for group in groups if group is not None]
    if is_worth_trying(asked.text):
        found += [group for group in _by_a_slip(asked, found) if group is not None]
    return Finds(asked.text, found, readings)


def only_numbered(found: Finds) -> str:
    """The address of the one thing whose number was typed; empty where there are several, or where it may be meant otherwise."""
    numbered = [hit for group in found.groups for hit in group.hits if hit.is_numbered]
    if len(numbered) != 1 or not numbered[0].url:
        return ""
    typed = read_number(found.text)
    others = [hit for group in found.groups if group.kind != "estimates" for hit in group.hits if not hit.is_numbered]
    return numbered[0].url if not others or (typed is not None and typed.is_full) else ""


def _jobs(asked: Asked, typed: Typed | None) -> Group | None:
    """By number, serial number, maker, model, whose it is, or the words of the fault."""
    numbered = jobs_numbered(typed) if typed is not None else Job.objects.none()
    same = set(numbered.order_by("-pk").values_list("pk", flat=True)[: asked.most + 1]) if typed is not None else set()
    found = Job.objects.none() if typed is not None and typed.is_full else _words_of_jobs(asked, is_number=typed is not None)
    if same:
        found = found | Job.objects.with_heads().filter(pk__in=same)

    def hit(one: Job) -> Hit:
        words = f"{one.get_stage_display()}: {one.fault}"[:120]
        url = asked.url("jobs:job", one.pk)
        return Hit(one, url, f"{one.radio}, {one.customer}", words, tag=one.number, is_numbered=one.pk in same)

    return asked.group("jobs", "Jobs", found.order_by("-pk"), hit, asked.url("jobs:list", q=asked.text, show="all"))


def _words_of_jobs(asked: Asked, *, is_number: bool) -> "QuerySet[Job]":
    """A few bare figures would be part of every second number, so they are looked for in serial numbers only."""
    jobs = Job.objects.with_heads()
    if not asked.has_words:
        return jobs.none()
    if is_number and len(asked.text) < FEWEST_FIGURES:
        return jobs.filter(radio__in=RadioSet.objects.filter(serial__icontains=asked.text).order_by().values("pk"))
    return matching(jobs, asked.text)


def _customer_hit(asked: Asked, one: Customer) -> Hit:
    """Whoever may not open a customer's card is led to the jobs."""
    card = asked.url("shop:customer", one.pk)
    if card:
        return Hit(one, card, one.name, " ".join(filter(None, (one.phone, one.email))))
    return Hit(one, asked.url("jobs:list", q=one.name, show="all"), one.name, "their jobs")


def _customers(asked: Asked) -> Group | None:
    if read_number(asked.text) is not None and len(asked.text) < FEWEST_FIGURES:
        return None
    found = Customer.objects.matching(asked.text)
    return asked.group(
        "customers", "Customers", found, lambda one: _customer_hit(asked, one), asked.url("shop:customers", q=asked.text)
    )


def _sets(asked: Asked) -> Group | None:
    """By maker, model and serial number; somebody's name alone finds the jobs."""
    first = Q()
    for word in fold(asked.text).split():
        first |= Q(pk__in=sets_called(word))
    found = sets_matching(RadioSet.objects.filter(first), asked.text).select_related("model", "customer")

    def hit(one: RadioSet) -> Hit:
        card = asked.url("jobs:set_change", one.pk) or asked.url("jobs:list", q=one.serial or one.model.name, show="all")
        return Hit(one, card, str(one), str(one.customer))

    all_url = asked.url("jobs:sets", q=asked.text)
    return asked.group("sets", "Sets", found.order_by("model__maker", "model__name", "pk"), hit, all_url)


def _model_hit(asked: Asked, one: RadioModel) -> Hit:
    return Hit(one, asked.url("jobs:model", one.pk), str(one), one.get_supply_kind_display())


def _models(asked: Asked) -> Group | None:
    found = RadioModel.objects.filter(pk__in=models_matching(asked.text).order_by().values("pk"))
    return asked.group("models", "Models", found, lambda one: _model_hit(asked, one), asked.url("jobs:models", q=asked.text))


def _benches(asked: Asked) -> Group | None:
    words = fold(asked.text).split()
    found = [bench for bench in Bench.objects.all() if all(word in fold(bench.name) for word in words)]

    def hit(one: Bench) -> Hit:
        return Hit(one, asked.url("jobs:list", bench=one.pk), one.name, "what stands there")

    return asked.few("benches", "Benches", found, hit, asked.url("jobs:benches"))


def _by_a_slip(asked: Asked, found: list[Group]) -> Iterator[Group | None]:
    """Customers and models whose names come close, where the letters as typed found few; while typing, where nothing."""
    there = {group.kind: {hit.one.pk for hit in group.hits} for group in found}
    if asked.is_glance and there:
        return
    if len(there.get("customers", ())) < LITTLE:
        rows = close_to(Customer.objects.all(), "search", asked.text, asked.most)
        rows = [one for one in rows if one.pk not in there.get("customers", ())]
        yield asked.few("customers", "Customers", rows, lambda one: _customer_hit(asked, one), is_close=True)
    if len(there.get("models", ())) < LITTLE:
        rows = close_to(RadioModel.objects.all(), "key", asked.text, asked.most)
        rows = [one for one in rows if one.pk not in there.get("models", ())]
        yield asked.few("models", "Models", rows, lambda one: _model_hit(asked, one), is_close=True)
