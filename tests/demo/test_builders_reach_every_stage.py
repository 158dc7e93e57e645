"""The builders that all tests lean on: a job reaches each stage through the services, its last step at the time asked for."""

import pytest

from jobs.models import Stage
from tests.builders import a_fit, a_job, a_measurement, some_work
from tests.conftest import MONDAY, StillClock


@pytest.mark.django_db
@pytest.mark.parametrize("stage", Stage.values)
def test_a_job_reaches_the_stage_that_was_asked_for(stage: str, still_clock: StillClock) -> None:
    job = a_job(stage)
    assert job.stage == stage
    assert job.acts.latest("pk").at == MONDAY


@pytest.mark.django_db
def test_a_job_on_the_bench_takes_parts_readings_and_labour() -> None:
    job = a_job(Stage.REPAIRING)
    assert a_fit(job).text == "0.01 µF 630 V film"
    assert a_measurement(job, "R1", "260K").verdict
    assert some_work(job).amount_minor == 4000
