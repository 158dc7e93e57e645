"""How the shop's forecasts did: first forecasts against what was billed, with what chance allows."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.queries.forecasts import CREDITED, DECLINED, NOT_YET, forecasts_did, running_error, running_share, usual_counts
from billing.services import credit
from jobs.models import Forecast, Job
from shop.clock import now
from shop.models import Role
from shop.tabular import read_csv
from tests.builders import a_job, a_staff, an_invoice, some_work

pytestmark = pytest.mark.django_db
WHERE = "billing:forecasts"


def expected(job: Job, low: int, middle: int, high: int) -> Job:
    Forecast.objects.create(job=job, from_jobs=3, low_minor=low, median_minor=middle, high_minor=high, at=now())
    return job


def billed(*forecast: int) -> Job:
    """Two hours at 40.00 and a capacitor at 0.60: 80.60, without tax."""
    job = expected(a_job("repairing"), *forecast)
    some_work(job, minutes=120)
    Job.objects.filter(pk=job.pk).update(stage="ready")
    job.refresh_from_db()
    an_invoice(job)
    return job


def test_a_bill_is_held_against_the_first_forecast_of_its_job() -> None:
    job = billed(7_000, 8_000, 9_000)
    expected(job, 1, 2, 3)
    (one,) = forecasts_did().outcomes
    assert (one.number, one.low_minor, one.came_to_minor) == (job.number, 7_000, 8_000)
    assert (one.is_inside, one.standing) == (True, "within the range")


def test_what_is_dearer_cheaper_or_on_the_edge_is_told() -> None:
    for forecast in ((8_001, 9_000, 9_500), (1_000, 2_000, 7_999), (8_000, 8_000, 8_000)):
        billed(*forecast)
    did = forecasts_did()
    assert [one.standing for one in did.outcomes] == ["cheaper than the range", "dearer than the range", "within the range"]
    assert did.inside == 1
    assert [round(share) for share in running_share(did.outcomes)] == [0, 0, 33]
    assert [round(off) for off in running_error(did.outcomes, 2)] == [11, 156, 150]


def test_what_can_not_be_compared_is_counted_with_its_reason() -> None:
    expected(a_job("declined"), 1, 2, 3)
    expected(a_job("repairing"), 1, 2, 3)
    gone = billed(1, 2, 3)
    credit(gone.invoices.get(), "wrong name", person=a_staff("owner", Role.OWNER), at=now())  # type: ignore[attr-defined]
    did = forecasts_did()
    assert did.outcomes == ()
    assert dict(did.left_out) == {DECLINED: 1, NOT_YET: 1, CREDITED: 1}


def test_what_chance_allows_is_the_middle_of_the_binomial_distribution() -> None:
    """Against scipy.stats.binom.interval, which cuts the same tails."""
    from scipy.stats import binom

    for jobs in (1, 5, 18, 60):
        low, high = binom.interval(0.9, jobs, 0.8)
        assert usual_counts(jobs) == (low, high)


def test_many_forecasts_ask_no_more_questions_than_one() -> None:
    counts = []
    for _ in range(2):
        billed(1, 2, 3)
        with CaptureQueriesContext(connection) as asked:
            forecasts_did()
        counts.append(len(asked))
    assert counts == [2, 2]


def test_the_page_teaches_while_empty_and_then_tells_and_saves(owner_client: Client) -> None:
    a_job("taken_in")
    empty = owner_client.get(reverse(WHERE)).content.decode()
    assert "No forecast can be held against a bill yet" in empty
    job = billed(7_000, 8_000, 9_000)
    shown = owner_client.get(reverse(WHERE)).content.decode()
    assert "1 of 1" in shown
    assert job.number in shown
    rows = list(read_csv(b"".join(owner_client.get(reverse(WHERE), {"as": "csv"}))))
    assert rows[1][0] == job.number
    assert rows[1][8] == "80.00"


def test_only_the_owner_sees_it(counter_client: Client, stranger_client: Client) -> None:
    assert counter_client.get(reverse(WHERE)).status_code == 403
    assert "/sign-in/" in stranger_client.get(reverse(WHERE))["Location"]
