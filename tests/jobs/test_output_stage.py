"""The output stage's page: drawn from the log's voltages, names what is missing, and says what another B+ would do."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Job, Stage
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from tests.builders import a_job, author, position_of


@pytest.fixture
def job(db: None) -> Job:
    """An EL84 with its cathode resistor, and a smoothing capacitor."""
    job = a_job(Stage.REPAIRING)
    for row in (
        CalledRow("V3", "valve", "EL84", ""),
        CalledRow("R9", "cathode_resistor", "135 ohms 1/2W", ""),
        CalledRow("C9", "smoothing", "47 µF 350 V", ""),
    ):
        add_position(job, row, keep_with_model=False)
    return job


@pytest.fixture
def measured(job: Job) -> Job:
    for place, point, volts in (
        ("V3", "plate", "257.3"),
        ("V3", "cathode", "7.3"),
        ("V3", "screen", "250"),
        ("C9", "chassis", "250"),
    ):
        write(job, place, point, volts)
    return job


def write(job: Job, place: str, point: str, volts: str) -> None:
    log.record_voltage(position_of(job, place), point, volts, author())


def page(client: Client, job: Job, **query: str) -> str:
    return client.get(reverse("jobs:output_stage", args=[job.pk], query=query)).content.decode()


def test_the_check_is_drawn_from_the_log(counter_client: Client, measured: Job) -> None:
    shown = page(counter_client, measured)
    assert "Over its limit" in shown
    assert "The plate gets rid of 12.13 W, above the 12 W that EL84 may: 101 %." in shown
    assert "The screen gets rid of 1.349 W of the 2 W it may: 67 %." in shown
    assert "7.3 V across 135 Ω: 54 mA and 0.39 W; rated 0.5 W, at least twice is wanted: fit 1 W." in shown
    assert "B+ is taken as 250 V, as measured at C9." in shown
    assert "Local codes and licensed practice come first." in shown


def test_what_is_missing_is_named_and_leads_to_its_form(colleague_client: Client, job: Job) -> None:
    shown = page(colleague_client, job)
    address = reverse("jobs:position", args=[position_of(job, "V3").pk])
    for point in ("plate", "cathode", "screen"):
        assert f'href="{address}?write=voltage&amp;point={point}#voltage">Write the {point} voltage of V3</a>' in shown
    assert "B+ isn’t in the log yet" in shown
    assert "Over its limit" not in shown


def test_what_if_b_plus_changes_is_an_estimate(colleague_client: Client, measured: Job) -> None:
    shown = page(colleague_client, measured, bplus="275 V")
    assert (
        "At 275 V the plate would get rid of about 14.7 W to 15.4 W; it may get rid of 12 W. Measure as soon as it plays."
        in shown
    )
    assert "An estimate: the cathode resistor stays" in shown
    assert "Give a B+ between half and double" in page(colleague_client, measured, bplus="2 V")


@pytest.mark.parametrize(("typed", "said"), [("a little more", "is not understood there"), ("5 mA", "can&#x27;t be read")])
def test_what_cant_be_read_is_said_and_stays_typed(colleague_client: Client, measured: Job, typed: str, said: str) -> None:
    answer = colleague_client.get(reverse("jobs:output_stage", args=[measured.pk], query={"bplus": typed}))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert f'value="{typed}"' in answer.content.decode()


def test_a_pair_shares_its_resistor_and_several_resistors_are_told_apart(colleague_client: Client, measured: Job) -> None:
    add_position(measured, CalledRow("V4", "valve", "6BQ5", ""), keep_with_model=False)
    assert "shared by 2 valves" in page(colleague_client, measured)
    other = add_position(measured, CalledRow("R3", "cathode_resistor", "2K2", ""), keep_with_model=False)
    assert "which cathode resistor it is: choose below" in page(colleague_client, measured).lower()
    assert "of R3" not in page(colleague_client, measured)
    write(measured, "R9", "across", "7.2")
    assert "7.2 V across 135 Ω" in page(colleague_client, measured)
    assert "12.13 W" in page(colleague_client, measured)
    assert "2.2 kΩ" in page(colleague_client, measured, resistor=str(other.pk))


def test_the_voltage_across_the_resistor_is_the_cathodes(colleague_client: Client, job: Job) -> None:
    write(job, "V3", "plate", "257.3")
    write(job, "R9", "across", "7.3")
    assert "12.13 W" in page(colleague_client, job)


def test_without_a_cathode_resistor_the_output_transformers_winding_tells(colleague_client: Client, db: None) -> None:
    job = a_job(Stage.REPAIRING)
    add_position(job, CalledRow("V3", "valve", "6V6-GT", ""), keep_with_model=False)
    add_position(job, CalledRow("T2", "output_transformer", "", ""), keep_with_model=False)
    log.record_measured(position_of(job, "T2"), "200 ohm", author())
    write(job, "V3", "plate", "250")
    assert "the drop over the output transformer&#x27;s winding" in page(colleague_client, job)
    write(job, "T2", "across", "9 V")
    shown = page(colleague_client, job)
    assert "drop over the transformer&#x27;s winding" in shown
    assert "The plate gets rid of 11.25 W of the 12 W it may" in shown


def test_voltages_older_than_the_last_change_are_doubted(colleague_client: Client, measured: Job) -> None:
    assert "Measure again" not in page(colleague_client, measured)
    log.record_wiring(measured, "screen fed from before the choke", author())
    assert "The circuit was changed after some of these voltages were written" in page(colleague_client, measured)
    for point, volts in (("plate", "257"), ("cathode", "7.3"), ("screen", "250")):
        write(measured, "V3", point, volts)
    assert "Measure again" not in page(colleague_client, measured)


def test_the_note_of_a_resistor_tells_whose_it_is(colleague_client: Client, measured: Job) -> None:
    add_position(measured, CalledRow("R3", "cathode_resistor", "2K2", "cathode of V1."), keep_with_model=False)
    note = "cathode of V3, bypassed"
    add_position(measured, CalledRow("R4", "cathode_resistor", "150 ohms", note), keep_with_model=False)
    assert "7.3 V across 150 Ω" in page(colleague_client, measured)


def test_a_positive_grid_names_the_coupling_capacitor(colleague_client: Client, measured: Job) -> None:
    write(measured, "V3", "grid", "1.4 V")
    shown = page(colleague_client, measured)
    assert "The control grid stands 1.4 V positive" in shown
    assert "the coupling capacitor leaks and is replaced" in shown


def test_a_valve_of_no_table_is_judged_by_limits_given_by_hand(colleague_client: Client, measured: Job) -> None:
    odd = add_position(measured, CalledRow("V5", "valve", "P460", ""), keep_with_model=False)
    write(measured, "V5", "plate", "250")
    write(measured, "V5", "cathode", "20")
    assert "P460" in page(colleague_client, measured)
    assert "No limits are listed for &#x27;P460&#x27;" in page(colleague_client, measured, valve=str(odd.pk))
    shown = page(colleague_client, measured, valve=str(odd.pk), plate_watts="9")
    assert "above the 9 W that P460 may" in shown


def test_the_empty_page_teaches(colleague_client: Client, db: None) -> None:
    assert "No output valve on the sheet" in page(colleague_client, a_job(Stage.REPAIRING))


def test_a_stranger_signs_in_first(client: Client, job: Job) -> None:
    answer = client.get(reverse("jobs:output_stage", args=[job.pk]))
    assert answer.headers["Location"].startswith(reverse("login"))


def test_looking_costs_the_same_for_one_valve_and_for_fifty(
    colleague_client: Client, measured: Job, django_assert_num_queries: Callable[..., Any]
) -> None:
    page(colleague_client, measured)
    with CaptureQueriesContext(connection) as one:
        page(colleague_client, measured)
    for number in range(50):
        add_position(measured, CalledRow(f"V{number + 10}", "valve", "EL84", ""), keep_with_model=False)
    with django_assert_num_queries(len(one)):
        page(colleague_client, measured)
