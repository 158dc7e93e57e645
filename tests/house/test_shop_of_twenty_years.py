"""A shop made for measuring obeys every rule of the product: `verify` derives it again and finds no difference."""

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher

from jobs.models import Job, LogEntry, Stage
from shop.clock import now
from shop.demo.models import write_models
from shop.demo.parts import fill_drawers
from shop.demo.people import open_shop
from shop.demo.plans import plans
from shop.demo.shop import run_side_by_side
from shop.demo.story import Shared, Story
from shop.verification import verify
from tests.speed.twenty_years.making import make
from tests.speed.twenty_years.sizes import Sizes

TOLD = ("motorist", "pocket")
TELLINGS = 60


def a_few_jobs() -> None:
    """One job handed over, one declined and returned: small sets, in the demo's words."""
    from random import Random

    at = now()
    opened = at - timedelta(days=285)
    cast = open_shop(opened)
    write_models()
    fill_drawers(cast, Random("drawers"), opened, at)
    found = [one for one in plans() if one.model in TOLD and one.ends in (Stage.HANDED_OVER, Stage.RETURNED)]
    chosen = {one.ends: one for one in found}
    told = Shared()
    run_side_by_side([Story(plan, cast, at, told) for plan in chosen.values()], lambda what: None)


@pytest.mark.django_db
def test_a_shop_of_twenty_years_gives_verify_nothing_to_say(settings: Any) -> None:
    settings.PASSWORD_HASHERS = [f"{MD5PasswordHasher.__module__}.MD5PasswordHasher"]
    a_few_jobs()
    make(Sizes(0.0003), now(), seed=7)
    assert Job.objects.count() >= TELLINGS
    assert LogEntry.objects.count() > 20 * TELLINGS
    assert [f"{found.name}: {one}" for found in verify() for one in found.differences] == []
