"""Voltages under power in the log: written, corrected, taken back, and what they say a part has to bear."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind
from jobs.models import Job, Position, Stage
from jobs.queries.voltages import voltages_of, working
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from shop.models import Staff
from tests.builders import a_job, a_lot, a_part, author, drawer_of, position_of
from tests.jobs.at_bench import enter, state_of, token
from tests.jobs.sent import sent_form


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING)


@pytest.fixture
def cathode(job: Job) -> Position:
    return add_position(job, CalledRow("R9", "cathode_resistor", "470 ohms 1/2W", ""), keep_with_model=False)


def page(place: Position, **query: str) -> str:
    return reverse("jobs:position", args=[place.pk], query=query)


def test_voltages_of_a_valve_are_kept_by_point(colleague_client: Client, colleague: Staff, job: Job) -> None:
    valve = position_of(job, "V1")
    for point, volts in (("plate", "245"), ("screen", "88 V"), ("grid", "-3,2 V"), ("plate", "+238 V")):
        assert enter(colleague_client, valve, "voltage", point=point, voltage=volts, note="no signal").status_code == 302
    state = state_of(valve)
    assert voltages_of(state) == {"plate": Decimal(238), "screen": Decimal(88), "grid": Decimal("-3.2")}
    assert (state.voltages["screen"].text, state.voltages["screen"].note) == ("88 V", "no signal")
    assert state.voltages["plate"].person == colleague


def test_the_page_and_the_sheet_show_them_with_their_unit(colleague_client: Client, job: Job, cathode: Position) -> None:
    enter(colleague_client, cathode, "voltage", point="across", voltage="12")
    shown = colleague_client.get(page(cathode)).content.decode()
    assert "voltage under power, across the part: 12 V" in shown
    sentence = "12 V across 470 Ω: 26 mA and 0.31 W; rated 0.5 W, at least twice is wanted: fit 1 W."
    assert sentence in shown
    assert sentence in colleague_client.get(reverse("jobs:change_log", args=[job.pk])).content.decode()


def test_the_form_cautions_and_offers_the_points_of_the_part(colleague_client: Client, job: Job) -> None:
    valve = colleague_client.get(page(position_of(job, "V1"), write="voltage", point="cathode")).content.decode()
    assert '<option value="cathode" selected>' in valve
    assert 'value="across"' not in valve
    assert "keep one hand in your pocket" in valve
    assert "Local codes and licensed practice come first." in valve
    part = colleague_client.get(page(position_of(job, "R1"))).content.decode()
    assert 'value="across"' in part
    assert '<option value="plate"' not in part


def test_a_voltage_is_corrected_and_taken_back(colleague_client: Client, job: Job) -> None:
    valve = position_of(job, "V1")
    enter(colleague_client, valve, "voltage", point="plate", voltage="24.5")
    first = state_of(valve).voltages["plate"]
    form = sent_form(colleague_client.get(page(valve) + f"?correct={first.pk}"), "voltage")
    assert (form["voltage"], form["point"], form["corrects"]) == ("24.5", "plate", str(first.pk))
    colleague_client.post(reverse("jobs:entry_voltage", args=[valve.pk]), form | {"voltage": "245"})
    second = state_of(valve).voltages["plate"]
    assert (second.text, second.corrects) == ("245", first)
    assert enter(colleague_client, valve, "withdraw", entry=second.pk, why="other valve").status_code == 302
    assert state_of(valve).voltages == {}
    assert "voltage under power, taken back" in colleague_client.get(page(valve)).content.decode()


@pytest.mark.parametrize(
    ("point", "typed", "said"),
    [
        ("plate", "", "This field is required."),
        ("plate", "rather high", "is not understood there. Write the value like"),
        ("plate", "12 V 5 mA", "It holds two values."),
        ("plate", "25000 V", "No such set has 25000 V. Check the decimal point and the unit."),
        ("across", "250 V", "Choose from the list where the voltage was measured."),
        ("anode cap", "250 V", "Choose from the list where the voltage was measured."),
    ],
)
def test_what_cant_be_a_voltage_is_refused_and_stays_typed(
    colleague_client: Client, job: Job, point: str, typed: str, said: str
) -> None:
    valve = position_of(job, "V1")
    answer = enter(colleague_client, valve, "voltage", point=point, voltage=typed, note="kept on the page")
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert 'value="kept on the page"' in answer.content.decode()
    assert not valve.entries.exists()


def test_the_same_form_twice_writes_one_voltage(colleague_client: Client, job: Job) -> None:
    valve, once = position_of(job, "V1"), token()
    for _ in range(2):
        enter(colleague_client, valve, "voltage", seen=0, once=once, point="plate", voltage="245")
    assert valve.entries.count() == 1


def test_the_second_of_two_is_told(colleague_client: Client, job: Job) -> None:
    valve = position_of(job, "V1")
    log.record_voltage(valve, "plate", "245 V", author())
    answer = enter(colleague_client, valve, "voltage", seen=0, point="plate", voltage="240")
    assert answer.status_code == 422
    assert "wrote “voltage under power, plate: 245 V”" in answer.content.decode()
    assert valve.entries.count() == 1


def test_strangers_write_no_voltage(client: Client, counter_client: Client, job: Job) -> None:
    valve = position_of(job, "V1")
    assert enter(client, valve, "voltage", point="plate", voltage="245").headers["Location"].startswith(reverse("login"))
    assert enter(counter_client, valve, "voltage", point="plate", voltage="245").status_code == 403


def test_a_part_that_stands_on_the_chassis_has_the_voltage_to_chassis_across_it(job: Job) -> None:
    log.record_voltage(position_of(job, "C3"), "chassis", "118 V", author())
    assert working(state_of(position_of(job, "C3"))) == (Decimal(118), None)
    # A coupling capacitor stands between two points: one end tells nothing of the other.
    log.record_voltage(position_of(job, "C2"), "chassis", "80 V", author())
    assert working(state_of(position_of(job, "C2"))) == (None, None)


def test_the_heat_is_that_of_the_fitted_resistor(job: Job, cathode: Position) -> None:
    log.record_voltage(cathode, "across", "12 V", author())
    assert state_of(cathode).heat.level == "warn"
    assert working(state_of(cathode)).watts == Decimal(144) / 470
    lot = a_lot(a_part("510 ohm 2 W", Kind.RESISTOR, "metal_film"))
    log.fit(cathode, log.Fit(lot, drawer_of(lot)), author())
    heat = state_of(cathode).heat
    assert (heat.ohms, heat.rated_watts, heat.level) == (Decimal("510.0"), Decimal("2.0"), "yes")


def test_without_a_value_the_meters_reading_counts(job: Job) -> None:
    place = add_position(job, CalledRow("R8", "resistor", "", ""), keep_with_model=False)
    log.record_voltage(place, "across", "100 V", author())
    assert state_of(place).heat is None
    log.record_measured(place, "10K", author(), in_circuit=True)
    assert state_of(place).heat is None
    log.record_measured(place, "10K", author())
    assert state_of(place).heat.sentence == "100 V across 10 kΩ: 10 mA and 1 W; at least twice is wanted: 2 W."


def test_a_short_that_reads_nothing_is_no_resistor(job: Job, cathode: Position) -> None:
    log.record_voltage(cathode, "across", "0 V", author())
    assert working(state_of(cathode)) == (Decimal(0), Decimal(0))
