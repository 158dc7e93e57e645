"""The supply over time: as called for, as it came, as fitted, and with a candidate; four drawings, no line twice."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind
from jobs.bench.supply import Supply, compute, rectifier_law
from jobs.models import Job
from jobs.queries.sheet import sheet_of
from jobs.queries.supply import Tried, compared
from jobs.queries.supply_moments import Moment, moments_of
from jobs.services import log
from jobs.views.supply_charts import over_time
from tests.builders import a_lot, a_part, author, drawer_of, position_of
from tests.jobs.supplies import a_job_with_supply

pytestmark = pytest.mark.django_db


def moments(job: Job) -> list[Moment]:
    rows = sheet_of(job).rows
    found = compared(job, rows, Tried())
    assert found is not None
    return moments_of(job, rows, found)


def fit(job: Job, designator: str, marking: str) -> None:
    part = a_part(marking, Kind.CAPACITOR, "electrolytic", polarised=True)
    lot = a_lot(part)
    log.fit(position_of(job, designator), log.Fit(lot, drawer_of(lot)), author())


def test_what_is_as_called_for_shares_one_line() -> None:
    (one,) = moments(a_job_with_supply())
    assert one.name == "called for, as it came"


def test_what_came_is_known_after_the_new_part_is_in() -> None:
    """The dried-out capacitor and the new one: each computed by itself, by the same computation as everywhere."""
    job = a_job_with_supply()
    log.record_measured(position_of(job, "C3"), "4 µF", author())
    assert [one.name for one in moments(job)] == ["called for", "as it came"]
    fit(job, "C3", "22 µF 450 V")
    named = {one.name: one.case.result for one in moments(job)}
    law = rectifier_law("5Y3-GT")
    for name, uf in (("called for", 20), ("as it came", 4), ("as fitted", 22)):
        wanted = compute(Supply("full-wave", 300, 50, 120, law, uf, 15, 1500, 15, load_amps=0.07))
        assert named[name].bplus_mean_v == pytest.approx(wanted.bplus_mean_v)
        assert named[name].startup == wanted.startup


def test_the_page_draws_each_voltage_over_time_with_what_the_capacitors_bear(counter_client: Client) -> None:
    job = a_job_with_supply()
    log.record_measured(position_of(job, "C3"), "4 µF", author())
    shown = counter_client.get(reverse("jobs:supply", args=[job.pk], query={"reservoir": "47 µF 500 V"}))
    charts = shown.context["over_time"]
    assert [chart.title for chart in charts] == [
        "C3, two periods of the line",
        "B+ at C4, two periods of the line",
        "C3 coming up, its highest in each cycle",
        "B+ at C4 coming up",
    ]
    assert [line.label for line in charts[0].series] == ["called for", "as it came", "candidate"]
    assert [(level.label, level.y) for level in charts[2].levels] == [
        ("rated 450 V, called for", 450),
        ("rated 500 V, candidate", 500),
    ]
    content = shown.content.decode()
    assert content.count('<svg class="chart-wide"') == content.count('<svg class="chart-narrow"') == 5


def test_two_periods_are_two_periods_and_the_start_begins_with_nothing() -> None:
    job = a_job_with_supply()
    rows = sheet_of(job).rows
    found = compared(job, rows, Tried())
    assert found is not None
    wave, _, start, _ = over_time(moments_of(job, rows, found), found)
    times = [x for x, _ in wave.series[0].points]
    assert times[-1] - times[0] == pytest.approx(2 * 1000 / 50)
    assert start.series[0].points[0] == (0, 0)


def test_a_supply_that_cannot_be_computed_draws_nothing(counter_client: Client) -> None:
    job = a_job_with_supply()
    job.positions.filter(role="reservoir").update(role="other")  # type: ignore[attr-defined]
    shown = counter_client.get(reverse("jobs:supply", args=[job.pk])).content.decode()
    assert "two periods of the line: nothing to show yet." in shown
