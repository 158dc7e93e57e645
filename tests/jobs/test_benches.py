"""The benches: what stands where, in which order, what it waits for, what it has cost in hours; moved by menu and by key."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import EstimateLine, Job, Stage
from jobs.queries.benches import Lane, lanes
from jobs.queries.hours import Hours, hours_of_open
from jobs.services import stages
from jobs.services.labour import Work, log_work, start_clock
from shop.clock import now, today
from shop.models import Staff
from tests.builders import a_bench, a_customer, a_job, a_staff
from tests.conftest import StillClock, signed_in
from tests.jobs.at_bench import token
from tests.jobs.copies import copies_of
from tests.jobs.sent import sent_form
from tests.words import words_of

PAGE = "/jobs/benches/"


@pytest.fixture(autouse=True)
def clock(still_clock: StillClock) -> StillClock:
    return still_clock


def promised(job: Job, days: int | None) -> Job:
    Job.objects.filter(pk=job.pk).update(promised_on=None if days is None else today() + timedelta(days=days))
    return job


def in_lane(place: int) -> list[Job]:
    return [ticket.job for ticket in lanes(now())[place].tickets]


def lane(place: int = 0) -> Lane:
    return lanes(now())[place]


def move(client: Client, job: Job, bench: object, seen: object = 0, **more: object) -> Any:
    form = {"once": token(), "bench": getattr(bench, "pk", ""), "seen": seen, "next": PAGE, **more}
    return client.post(reverse("jobs:put_on_bench", args=[job.pk]), form)


def after(client: Client) -> str:
    return words_of(client.get(PAGE))


def test_a_lane_a_bench_and_one_for_what_stands_at_none(db: None) -> None:
    first, job, other = a_bench("Window bench"), a_job(), a_job()
    a_bench("Yard bench")
    stages.put_on_bench(job, first, at=now())
    listed = lanes(now())
    there = {(one.key, one.name): [ticket.job for ticket in one.tickets] for one in listed}
    assert there == {("1", "Window bench"): [job], ("2", "Yard bench"): [], ("0", "No bench yet"): [other]}


def test_the_nearest_promise_comes_first_and_none_last(db: None) -> None:
    never, late, soon = promised(a_job(), None), promised(a_job(), -2), promised(a_job(), 3)
    assert in_lane(-1) == [late, soon, never]


def test_of_one_days_promises_what_can_be_worked_on_comes_before_what_waits_the_longest_wait_first(
    db: None, clock: StillClock
) -> None:
    waits, longer, free = (promised(a_job(), 3) for _ in range(3))
    stages.wait_for(longer, "part", "", at=now() - timedelta(days=2))
    stages.wait_for(waits, "person", "", at=now())
    assert in_lane(-1) == [free, longer, waits]


def test_an_entry_says_whose_what_stage_and_what_it_waits_for_since_when(counter_client: Client, colleague: Staff) -> None:
    job = promised(a_job(Stage.AWAITING_CONSENT, customer=a_customer("Odo Pelt"), stands_at="shelf 3"), -1)
    stages.wait_for(job, "part", "EL41 from Ferrule", at=now() - timedelta(days=4))
    start_clock(job, "inspection", person=colleague, at=now() - timedelta(minutes=75))
    page = words_of(counter_client.get(PAGE))
    for words in (
        job.number,
        "Odo Pelt; stands at shelf 3",
        "Overdue 1 day, promised for 1 Mar 2026",
        "Estimate with the customer",
        "Waits for a part EL41 from Ferrule, since 26 Feb 2026, 4 days",
        "Clock runs Benno Tarnwick, inspection, 1 h 15 min so far",
        "Nothing logged",
    ):
        assert words in page


def test_a_set_that_is_ready_has_kept_its_promise(db: None) -> None:
    promised(a_job(Stage.READY), -3)
    assert lane(-1).tickets[0].late_days == 0


def test_hours_logged_stand_against_those_agreed_to(colleague: Staff, colleague_client: Client) -> None:
    job, bare = a_job(Stage.REPAIRING), a_job()
    EstimateLine.objects.filter(estimate__job=job, kind="fee").update(kind="labour", minutes=300)
    assert hours_of_open() == {job.pk: Hours(0, 300)}
    log_work(job, Work(colleague, "repair", today(), 45), person=colleague, at=now())
    log_work(bare, Work(colleague, "repair", today(), 15, not_charged="to see"), person=colleague, at=now())
    assert hours_of_open() == {job.pk: Hours(45, 300), bare.pk: Hours(15)}
    page = after(colleague_client)
    assert f"45 min logged on {job.number} of 5 h agreed" in page
    assert "no hours agreed" in page
    assert not Hours(45, 45).is_over
    assert Hours(46, 45).is_over
    assert not Hours(46).is_over


def test_the_job_that_is_worked_on_is_named_and_a_clock_over_night_told(colleague: Staff, colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING)
    stages.put_on_bench(job, a_bench(), at=now())
    assert "No clock runs here." in after(colleague_client)
    start_clock(job, "repair", person=colleague, at=now() - timedelta(hours=20))
    page = after(colleague_client)
    assert f"At work on {job.number}" in page
    assert "Ran over night Benno Tarnwick, repair, 20 h so far" in page
    assert not lane().is_doubled


def test_two_clocks_at_one_bench_are_told_as_what_they_are(colleague: Staff, colleague_client: Client) -> None:
    """One job at a time is worked on at a bench; two people at one set are nothing strange."""
    bench, first, second, third = a_bench(), a_job(), a_job(), a_staff("third")
    for job in (first, second):
        stages.put_on_bench(job, bench, at=now())
    start_clock(first, "repair", person=colleague, at=now())
    start_clock(first, "repair", person=third, at=now())
    assert not lane().is_doubled
    third.timer.delete()
    start_clock(second, "repair", person=third, at=now())
    assert f"Clocks run on {first.number} and {second.number}; one job at a time" in after(colleague_client)


def test_what_is_handed_over_is_gone(counter_client: Client) -> None:
    a_job(Stage.HANDED_OVER)
    assert "No set is here" in after(counter_client)


def test_a_set_is_moved_by_menu_and_the_page_comes_back_at_its_entry(colleague_client: Client) -> None:
    bench, job = a_bench(), a_job()
    form = sent_form(colleague_client.get(PAGE), "bench") | {"bench": str(bench.pk)}
    answer = colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form)
    assert answer.headers["Location"] == f"{PAGE}#job-{job.pk}"
    job.refresh_from_db()
    assert job.bench == bench
    assert f"Job {job.number} stands at Bench 1 now." in after(colleague_client)
    colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form)
    assert Job.objects.get(pk=job.pk).version == job.version


def test_several_sets_may_stand_at_one_bench(colleague_client: Client) -> None:
    bench, first, second = a_bench(), a_job(), a_job()
    for job in (first, second):
        assert move(colleague_client, job, bench).status_code == 302
    assert in_lane(0) == [first, second]


def test_a_move_is_undone(colleague_client: Client) -> None:
    bench, job = a_bench(), a_job()
    move(colleague_client, job, bench)
    answer = colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), _undo(colleague_client))
    assert answer.headers["Location"] == PAGE
    job.refresh_from_db()
    assert job.bench is None
    assert f"Job {job.number} is off the benches." in after(colleague_client)


def _undo(client: Client) -> dict[str, str]:
    """The form of the Undo beside the message, the first on the page."""
    content = client.get(PAGE).content
    end = content.index(b'<div class="page-head">')
    return sent_form(type("Head", (), {"content": content[:end]}))


def test_of_two_who_move_one_job_the_second_is_told(colleague_client: Client) -> None:
    first, second, job = a_bench("Bench 1"), a_bench("Bench 2"), a_job()
    form = sent_form(colleague_client.get(PAGE), "bench")
    move(signed_in(a_staff("third")), job, first)
    colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form | {"bench": second.pk})
    job.refresh_from_db()
    assert job.bench == first
    said = f"Somebody else moved job {job.number} meanwhile: it stands at Bench 1 now. Look, then move it again if need be."
    assert said in after(colleague_client)
    move(colleague_client, job, second, seen=first.pk)
    job.refresh_from_db()
    assert job.bench == second


def test_labour_logged_meanwhile_is_not_in_the_way_of_a_move(colleague: Staff, colleague_client: Client) -> None:
    bench, job = a_bench(), a_job()
    form = sent_form(colleague_client.get(PAGE), "bench")
    log_work(job, Work(colleague, "repair", today(), 15, not_charged="a look"), person=colleague, at=now())
    colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form | {"bench": bench.pk})
    job.refresh_from_db()
    assert job.bench == bench


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"bench": "99999"}, "That bench isn't there any more. Choose another."),
        ({"bench": "x"}, "That bench isn't there any more. Choose another."),
        ({"seen": "much"}, "This form was incomplete when it arrived. Check it and send it again."),
    ],
)
def test_a_bad_form_moves_nothing_and_says_why(colleague_client: Client, sent: dict[str, str], said: str) -> None:
    job = a_job()
    form = {"once": token(), "bench": a_bench().pk, "seen": "0", "next": PAGE, **sent}
    colleague_client.post(reverse("jobs:put_on_bench", args=[job.pk]), form)
    assert said in after(colleague_client)
    job.refresh_from_db()
    assert job.bench is None


def test_what_a_job_waits_for_is_said_in_its_entry_and_undone_with_its_day(counter_client: Client, clock: StillClock) -> None:
    job = a_job()
    stages.wait_for(job, "person", "his sister", at=now())
    began = now()
    clock.forward(days=3)
    form = sent_form(counter_client.get(PAGE), "waits_for") | {"waits_for": "part", "note": "EL41 from Ferrule"}
    assert counter_client.post(reverse("jobs:wait_for", args=[job.pk]), form).headers["Location"] == f"{PAGE}#job-{job.pk}"
    job.refresh_from_db()
    assert (job.waits_for, job.waits_note, job.waits_since_at) == ("part", "EL41 from Ferrule", now())
    counter_client.post(reverse("jobs:wait_for", args=[job.pk]), _undo(counter_client))
    job.refresh_from_db()
    assert (job.waits_for, job.waits_note, job.waits_since_at) == ("person", "his sister", began)


def test_a_wait_never_began_before_the_set_came_or_in_the_future(counter_client: Client) -> None:
    job = a_job()
    for strange in (now() + timedelta(days=1), job.taken_in_at - timedelta(days=1)):
        stages.wait_for(job, "part", "", at=now(), since=strange)
        assert job.waits_since_at == now()


def test_a_move_never_leads_to_another_shops_page(colleague_client: Client) -> None:
    job = a_job()
    answer = move(colleague_client, job, "", next="https://elsewhere.example/")
    assert answer.headers["Location"] == reverse("jobs:job", args=[job.pk])


def test_the_counter_sees_and_moves_nothing(counter_client: Client) -> None:
    a_bench()
    job = a_job()
    page = counter_client.get(PAGE).content.decode()
    assert "Move it there" not in page
    assert "Write it down" in page
    assert move(counter_client, job, "").status_code == 403


def test_each_lane_can_be_jumped_to_and_the_keys_are_told(colleague_client: Client) -> None:
    bench = a_bench()
    a_job()
    page = colleague_client.get(PAGE).content.decode()
    for words in (f'href="#lane-{bench.pk}"', f'id="lane-{bench.pk}"', 'href="#lane-none"', "<kbd>w</kbd>"):
        assert words in page


def test_a_stranger_is_sent_to_sign_in(stranger_client: Client) -> None:
    assert stranger_client.get(PAGE).headers["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("count", [1, 50])
def test_the_number_of_queries_is_the_same_for_one_set_and_for_fifty(
    colleague: Staff, colleague_client: Client, count: int, django_assert_num_queries: Any
) -> None:
    bench, busy = a_bench(), a_job(Stage.REPAIRING)
    start_clock(busy, "repair", person=colleague, at=now())
    log_work(busy, Work(colleague, "repair", today(), 15), person=colleague, at=now())
    copies_of(busy, count - 1)
    Job.objects.filter(number__endswith="3").update(bench=bench)
    with django_assert_num_queries(10):
        colleague_client.get(PAGE)
