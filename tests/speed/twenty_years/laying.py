"""The ground of a shop of twenty years: tables, the demo, then all the rest."""

from collections.abc import Callable

from django.core.management import call_command

from jobs.models import Job
from shop.clock import now
from shop.demo.people import is_demo
from shop.demo.shop import load
from tests.speed.twenty_years.bulk import Store
from tests.speed.twenty_years.making import make
from tests.speed.twenty_years.sizes import Sizes


def lay(scale: float, seed: int, say: Callable[[str], None]) -> Store:
    """In the database of the settings: an empty one, or one that holds nothing but the demo."""
    lay_demo(say)
    store = make(Sizes(scale), now(), seed=seed, say=say)
    for model, count in sorted(store.written.items(), key=lambda one: -one[1])[:12]:
        say(f"{count:>10,} {model._meta.verbose_name_plural}")
    return store


def lay_demo(say: Callable[[str], None]) -> None:
    call_command("migrate", verbosity=0)
    if not is_demo():
        say("loading the demo, whose jobs are the patterns")
        load(now())
    say(f"the demo is there: {Job.objects.count()} jobs")
