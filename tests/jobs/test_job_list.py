"""The list of jobs: finding one, narrowing the list, its order, its cost."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, Stage
from jobs.services import stages
from shop.clock import now, today
from tests.builders import a_bench, a_customer, a_job, a_model, a_set

PAGE = "/jobs/"


def found(client: Client, query: str = "") -> list[str]:
    """The numbers on the list, in its order."""
    table = client.get(PAGE + query).context["table"]
    return [row.record.number for row in table.paginated_rows]


@pytest.fixture
def two(db: None) -> tuple[Job, Job]:
    first = a_job(radio=a_set(a_customer("Łucja Çelik"), a_model("Kestrel 5", "Merrowby"), serial="AX-77"))
    second = a_job(Stage.REPAIRING, radio=a_set(a_customer("Odo Pelt"), a_model("Sturmvögel 3", "Telmar"), serial="1234"))
    return first, second


@pytest.mark.parametrize("text", ["lucja", "CELIK", "kestrel", "Merrowby Kestrel", "ax-77", "łucja kestrel"])
def test_a_job_is_found_by_customer_model_and_serial(counter_client: Client, two: tuple[Job, Job], text: str) -> None:
    assert found(counter_client, f"?q={text}") == [two[0].number]


def test_a_job_is_found_by_its_number_and_an_accented_model(counter_client: Client, two: tuple[Job, Job]) -> None:
    assert found(counter_client, f"?q={two[1].number.lower()}") == [two[1].number]
    assert found(counter_client, "?q=sturmvogel") == [two[1].number]


def test_nothing_found_says_what_to_do(counter_client: Client, two: tuple[Job, Job]) -> None:
    assert "No job answers to this." in counter_client.get(PAGE + "?q=zzz").content.decode()


def test_an_empty_shop_says_how_a_job_begins(counter_client: Client) -> None:
    assert "A job begins when a set is taken in at the counter" in counter_client.get(PAGE).content.decode()


def test_it_narrows_by_stage_wait_and_bench(counter_client: Client, two: tuple[Job, Job]) -> None:
    bench = a_bench()
    stages.put_on_bench(two[0], bench, at=now())
    stages.wait_for(two[0], "part", "", at=now())
    assert found(counter_client, "?stage=repairing") == [two[1].number]
    assert found(counter_client, "?waits_for=part") == [two[0].number]
    assert found(counter_client, f"?bench={bench.pk}") == [two[0].number]


def test_closed_jobs_show_when_asked_for(counter_client: Client, two: tuple[Job, Job]) -> None:
    closed = a_job(Stage.HANDED_OVER)
    assert closed.number not in found(counter_client)
    assert closed.number in found(counter_client, "?show=all")
    assert found(counter_client, "?stage=handed_over") == [closed.number]


def test_overdue_jobs_are_marked_and_can_be_asked_for(counter_client: Client, two: tuple[Job, Job]) -> None:
    Job.objects.filter(pk=two[1].pk).update(promised_on=today() - timedelta(days=1))
    assert found(counter_client, "?show=late") == [two[1].number]
    assert "overdue" in counter_client.get(PAGE + "?show=late").content.decode()


def test_the_nearest_promise_comes_first_and_none_last_both_ways(counter_client: Client, two: tuple[Job, Job]) -> None:
    third = a_job()
    Job.objects.filter(pk=two[0].pk).update(promised_on=today() + timedelta(days=9))
    Job.objects.filter(pk=third.pk).update(promised_on=today() + timedelta(days=2))
    assert found(counter_client) == [third.number, two[0].number, two[1].number]
    assert found(counter_client, "?sort=-promised_on") == [two[0].number, third.number, two[1].number]


@pytest.mark.parametrize("query", ["?stage=flying", "?bench=999", "?bench=x", "?page=999", "?sort=rm", "?show=%00", "?q=%00"])
def test_a_bent_address_gives_a_page_not_a_fault(counter_client: Client, two: tuple[Job, Job], query: str) -> None:
    assert counter_client.get(PAGE + query).status_code == 200


def test_all_three_read_it_and_a_stranger_doesnt(
    counter_client: Client, colleague_client: Client, owner_client: Client, stranger_client: Client
) -> None:
    for client in (counter_client, colleague_client, owner_client):
        assert client.get(PAGE).status_code == 200
    assert stranger_client.get(PAGE).headers["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("count", [1, 50])
def test_the_number_of_queries_is_the_same_for_one_job_and_for_fifty(
    counter_client: Client, count: int, django_assert_num_queries
) -> None:
    model = a_model()
    for _ in range(count):
        a_job(model=model)
    # Who asks is two of them, and whether the place they signed in at still stands is one.
    with django_assert_num_queries(8):
        counter_client.get(PAGE)
