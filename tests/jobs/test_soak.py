"""The soak: started once the set is proved, ended with how it went, its hours against the shop's."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, SoakRun, Stage
from jobs.services import stages
from jobs.services.proving import end_soak, start_soak
from shop.acts import Refused
from shop.clock import now
from tests.builders import a_fit, a_job, a_lot, a_safety_check, a_staff, look_again
from tests.conftest import StillClock
from tests.jobs.at_bench import a_resistor, token


def page(job: Job, name: str = "soak") -> str:
    return reverse(f"jobs:{name}", args=[job.pk])


def proved(stage: str = Stage.PROVING) -> Job:
    job = a_job(stage)
    look_again(job)
    a_safety_check(job)
    return job


@pytest.fixture
def job(db: None, still_clock: StillClock) -> Job:
    return proved()


def end(client: Client, job: Job, result: str = "passed", **more: object):
    return client.post(page(job, "soak_end"), {"once": token(), "result": result, **more})


def test_it_isnt_started_before_second_look_and_safety(colleague_client: Client, db: None) -> None:
    job = a_job(Stage.PROVING)
    assert (
        "It needs first: the second look; a passed electrical safety check." in colleague_client.get(page(job)).content.decode()
    )
    answer = colleague_client.post(page(job, "soak_start"), {"once": token()}, follow=True)
    assert "“Start the soak” needs first:" in answer.content.decode()
    assert not SoakRun.objects.exists()


def test_it_runs_and_its_hours_count(colleague_client: Client, job: Job, still_clock: StillClock) -> None:
    colleague_client.post(page(job, "soak_start"), {"once": token()})
    job.refresh_from_db()
    assert (job.stage, job.waits_for) == (Stage.SOAKING, "soak")
    still_clock.forward(hours=4)
    assert end(colleague_client, job).status_code == 302
    run = SoakRun.objects.get()
    assert (run.minutes, run.passed) == (240, True)
    assert ">Ready to collect</button>" in colleague_client.get(page(job)).content.decode()


def test_the_act_button_of_the_job_page_starts_a_run_too(colleague_client: Client, job: Job) -> None:
    colleague_client.post(page(job, "act"), {"once": token(), "code": "start_soak"})
    assert SoakRun.objects.filter(job=job, ended_at__isnull=True).count() == 1


def test_too_few_hours_dont_make_a_set_ready(colleague_client: Client, job: Job, still_clock: StillClock) -> None:
    start_soak(job, person=a_staff(), at=now())
    still_clock.forward(hours=3)
    end(colleague_client, job)
    assert (
        "4 h of soak without a fault (3.0 h are recorded since the circuit was last changed)"
        in colleague_client.get(page(job)).content.decode()
    )
    with pytest.raises(Refused, match="4 h of soak"):
        stages.perform(job, "mark_ready", person=a_staff(), at=now())


def test_a_fault_needs_words_and_doesnt_count(colleague_client: Client, job: Job, still_clock: StillClock) -> None:
    start_soak(job, person=a_staff(), at=now())
    still_clock.forward(hours=5)
    answer = end(colleague_client, job, "failed")
    assert answer.status_code == 422
    assert "Say what went wrong during the soak." in answer.content.decode()
    assert end(colleague_client, job, "failed", note="hum after two hours").status_code == 302
    with pytest.raises(Refused, match="0.0 h are recorded"):
        stages.perform(job, "mark_ready", person=a_staff(), at=now())


def test_how_it_ended_must_be_said(colleague_client: Client, job: Job) -> None:
    start_soak(job, person=a_staff(), at=now())
    answer = end(colleague_client, job, "")
    assert answer.status_code == 422
    assert "Say how the soak ended." in answer.content.decode()


def test_a_running_soak_is_ended_before_the_set_goes_back_to_the_bench(job: Job) -> None:
    run = start_soak(job, person=a_staff(), at=now())
    with pytest.raises(Refused, match="the end of the running soak"):
        stages.perform(job, "back_to_bench", person=a_staff(), at=now())
    end_soak(run, passed=False, at=now(), note="smoke")
    stages.perform(job, "back_to_bench", person=a_staff(), at=now())


def test_hours_before_a_later_fit_count_no_more(colleague_client: Client, job: Job, still_clock: StillClock) -> None:
    run = start_soak(job, person=a_staff(), at=now())
    end_soak(run, passed=True, at=still_clock.forward(hours=4))
    stages.perform(job, "back_to_bench", person=a_staff(), at=now())
    still_clock.forward(minutes=1)
    a_fit(job, "R1", a_lot(a_resistor()))
    assert "before the last change, counts no more" in colleague_client.get(page(job)).content.decode()


def test_it_is_ended_once(colleague_client: Client, job: Job) -> None:
    start_soak(job, person=a_staff(), at=now())
    end(colleague_client, job)
    answer = end(colleague_client, job, "failed", note="no, it hummed")
    assert answer.status_code == 422
    assert "This soak was ended already." in answer.content.decode()


def test_the_counter_neither_starts_nor_ends_it(counter_client: Client, job: Job) -> None:
    assert counter_client.get(page(job)).status_code == 200
    assert counter_client.post(page(job, "soak_start"), {"once": token()}).status_code == 403
    assert end(counter_client, job).status_code == 403
