"""What was measured, chosen or typed; which reading decides; what the log and the sheet say of it."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Job, Stage
from jobs.queries.sheet import position_state
from tests.builders import a_job, position_of
from tests.jobs.at_bench import enter, state_of, token


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.INSPECTING)


def sheet(client: Client, job: Job) -> str:
    return client.get(reverse("jobs:change_log", args=[job.pk])).content.decode()


def page(client: Client, place) -> str:
    return client.get(reverse("jobs:position", args=[place.pk])).content.decode()


@pytest.mark.parametrize(
    ("quantity", "typed", "written", "verdict"),
    [
        ("leakage", "0.3 mA at 400 V", "leaks 0.3 mA at 400 V", "leaky"),
        ("insulation", "500 MΩ", "insulation 500 MΩ", "within"),
        ("", "leaks 2 mA", "leaks 2 mA", "leaky"),
        ("leakage", "leaky", "leaky", "leaky"),
        ("insulation", "short", "short", "shorted"),
        ("", "0.0047 µF", "0.0047 µF", "within"),
    ],
)
def test_what_was_measured_is_chosen_or_typed_and_the_log_stays_plain(colleague_client, job, quantity, typed, written, verdict):
    place = position_of(job, "C1")
    assert enter(colleague_client, place, "measured", quantity=quantity, measured=typed).status_code == 302
    state = state_of(place)
    assert (state.measured.text, state.verdict) == (written, verdict)


def test_the_sheets_row_takes_it_with_one_hand_too(colleague_client: Client, job: Job):
    place = position_of(job, "C1")
    address = reverse("jobs:entry_row", args=[place.pk])
    sent = {"once": token(), "seen": 0, "quantity": "leakage", "measured": "2 mA"}
    assert colleague_client.post(address, sent).status_code == 302
    assert state_of(place).measured.text == "leaks 2 mA"


def test_a_leak_without_its_unit_is_asked_for_and_stays_typed(colleague_client: Client, job: Job):
    place = position_of(job, "C1")
    answer = enter(colleague_client, place, "measured", quantity="leakage", measured="0.3")
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Write a leak with its unit, like leaks 0.3 mA at 250 V, or 2 MΩ." in text
    assert 'value="0.3"' in text
    assert '<option value="leakage" selected>' in text
    assert state_of(place).measured is None


def test_a_choice_that_no_form_offers_is_refused(colleague_client: Client, job: Job):
    answer = enter(colleague_client, position_of(job, "C1"), "measured", quantity="charm", measured="3")
    assert answer.status_code == 422
    assert "charm is not one of the available choices" in answer.content.decode()


def test_only_a_part_that_can_be_measured_in_several_ways_asks_for_which(colleague_client: Client, job: Job):
    assert "Kind of reading" in page(colleague_client, position_of(job, "C1"))
    assert "Kind of reading" not in page(colleague_client, position_of(job, "R1"))


def test_the_counter_writes_no_reading_and_a_stranger_signs_in(counter_client: Client, client: Client, job: Job):
    place = position_of(job, "C1")
    assert enter(counter_client, place, "measured", quantity="leakage", measured="2 mA").status_code == 403
    assert "sign" in enter(client, place, "measured", measured="2 mA")["Location"]
    assert state_of(place).measured is None


def test_a_reading_sent_twice_is_written_once(colleague_client: Client, job: Job):
    place, once = position_of(job, "C1"), token()
    for _ in range(2):
        enter(colleague_client, place, "measured", seen=0, once=once, quantity="leakage", measured="2 mA")
    assert len(state_of(place).entries) == 1


def test_a_good_value_does_not_hide_a_leak_but_a_later_leakage_reading_does(colleague_client: Client, job: Job):
    place = position_of(job, "C1")
    enter(colleague_client, place, "measured", measured="leaky")
    enter(colleague_client, place, "measured", measured="0.0047 µF")
    state = state_of(place)
    assert (state.verdict, state.measured.text) == ("leaky", "leaky")
    assert [entry.text for entry in state.readings] == ["leaky", "0.0047 µF"]
    text = sheet(colleague_client, job)
    assert "0.0047 µF" in text
    enter(colleague_client, place, "measured", measured="2000 MΩ")
    assert state_of(place).verdict == "within"


def test_the_last_reading_of_the_value_counts(colleague_client: Client, job: Job):
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="open")
    enter(colleague_client, place, "measured", measured="220 k")
    assert state_of(place).verdict == "within"


def test_a_valves_tester_gives_the_verdict_and_asks_for_the_tester(colleague_client: Client, job: Job):
    place = position_of(job, "V1")
    enter(colleague_client, place, "measured", measured="emission 52 %")
    state = state_of(place)
    assert state.verdict == "drifted"
    assert "worn out" in state.reasons
    assert "the tester's calibration" in state.reasons
    assert "worn out" in sheet(colleague_client, job)


def test_the_reason_for_a_wrong_part_names_the_practice(colleague_client: Client, job: Job):
    place = position_of(job, "R1")
    enter(colleague_client, place, "found", found="330 k")
    state = position_state(place)
    assert state.verdict == "wrong_part"
    assert state.reasons == f"It is marked 330 k; {state.called} is called for (±20 % by the shop's practice)."


def test_the_sheet_says_why_in_a_sentence_and_the_positions_page_everything(colleague_client: Client, job: Job):
    valve, resistor = position_of(job, "V1"), position_of(job, "R1")
    enter(colleague_client, valve, "measured", measured="emission 52 %")
    enter(colleague_client, resistor, "measured", measured="12 k", in_circuit="on")
    text = sheet(colleague_client, job)
    assert "It shows 52 % of a new one; below 60 % it is worn out (common practice, no source)." in text
    assert "the day: write them into the note" not in text
    assert "the day: write them into the note" in page(colleague_client, valve)
    assert "It reads low in circuit: lift one end before you condemn it." in text
