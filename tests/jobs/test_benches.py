"""The benches: what stands where, in which order, moved by menu."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, Stage
from jobs.queries.benches import lanes
from jobs.services import stages
from jobs.services.labour import start_clock
from shop.clock import now, today
from shop.models import Staff
from tests.builders import a_bench, a_customer, a_job
from tests.jobs.at_bench import token
from tests.jobs.sent import sent_form

PAGE = "/jobs/benches/"


def promised(job: Job, days: int) -> Job:
    Job.objects.filter(pk=job.pk).update(promised_on=today() + timedelta(days=days))
    return job


def test_a_lane_a_bench_and_one_for_what_stands_on_none(db: None) -> None:
    first, job, other = a_bench("Window bench"), a_job(), a_job()
    a_bench("Long bench")
    stages.put_on_bench(job, first, at=now())
    there = {lane.name: [ticket.job for ticket in lane.tickets] for lane in lanes(today())}
    assert there == {"Window bench": [job], "Long bench": [], "Not on a bench": [other]}


def test_the_nearest_promise_comes_first_and_none_last(db: None) -> None:
    never, late, soon = a_job(), promised(a_job(), -2), promised(a_job(), 3)
    assert [ticket.job for ticket in lanes(today())[-1].tickets] == [late, soon, never]


def test_a_ticket_says_whose_where_and_what_it_waits_for(counter_client: Client, colleague: Staff) -> None:
    job = promised(a_job(Stage.AWAITING_CONSENT, customer=a_customer("Odo Pelt"), stands_at="shelf 3"), -1)
    start_clock(job, "inspection", person=colleague, at=now())
    text = counter_client.get(PAGE).content.decode()
    for words in (
        job.number,
        "Odo Pelt",
        "estimate with the customer",
        "approval",
        "overdue",
        "shelf 3",
        "Benno Tarnwick, inspection",
    ):
        assert words in text


def test_what_is_handed_over_is_gone(counter_client: Client) -> None:
    a_job(Stage.HANDED_OVER)
    assert "No set is here" in counter_client.get(PAGE).content.decode()


def test_a_set_is_moved_by_menu_and_the_page_comes_back(colleague_client: Client) -> None:
    bench, job = a_bench(), a_job()
    form = sent_form(colleague_client.get(PAGE), "bench") | {"bench": str(bench.pk)}
    answer = colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form)
    assert answer.headers["Location"] == PAGE
    job.refresh_from_db()
    assert job.bench == bench
    colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), {"once": token(), "bench": "", "next": PAGE})
    job.refresh_from_db()
    assert job.bench is None


def test_a_taken_bench_isnt_offered(colleague_client: Client) -> None:
    bench, job, other = a_bench(), a_job(), a_job()
    stages.put_on_bench(job, bench, at=now())
    text = colleague_client.get(PAGE).content.decode()
    ticket = text[text.index(f'id="job-{other.pk}"') :]
    assert f'<option value="{bench.pk}"' not in ticket


def test_what_a_job_waits_for_is_said_on_its_ticket(counter_client: Client) -> None:
    job = a_job()
    form = sent_form(counter_client.get(PAGE), "waits_for") | {"waits_for": "part", "note": "EL41 from Ferrule"}
    assert counter_client.post(reverse("jobs:wait_for", args=[job.pk]), form).headers["Location"] == PAGE
    assert "EL41 from Ferrule" in counter_client.get(PAGE).content.decode()


def test_a_job_never_leads_to_another_shops_page(colleague_client: Client) -> None:
    job = a_job()
    send = {"once": token(), "bench": "", "next": "https://elsewhere.example/"}
    answer = colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), send)
    assert answer.headers["Location"] == reverse("jobs:job", args=[job.pk])


def test_the_counter_sees_and_moves_nothing(counter_client: Client) -> None:
    a_bench()
    a_job()
    assert "Put it there" not in counter_client.get(PAGE).content.decode()


def test_a_stranger_is_sent_to_sign_in(stranger_client: Client) -> None:
    assert stranger_client.get(PAGE).headers["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("count", [1, 20])
def test_the_number_of_queries_is_the_same_for_one_set_and_for_twenty(
    colleague_client: Client, count: int, django_assert_num_queries
) -> None:
    a_bench()
    for _ in range(count):
        a_job()
    with django_assert_num_queries(6):
        colleague_client.get(PAGE)
