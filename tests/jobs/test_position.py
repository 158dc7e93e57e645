"""The page of one position: its entries, its history, corrections, and what happens when two people write."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from jobs.models import Job, Position, Stage
from jobs.services import log
from shop.models import Staff
from tests.builders import a_fit, a_job, a_lot, a_part, author, drawer_of, position_of
from tests.jobs.at_bench import enter, offer_of, state_of, token
from tests.jobs.sent import sent_form


def page(place: Position) -> str:
    return reverse("jobs:position", args=[place.pk])


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING)


def test_found_measured_and_decision_are_written_in_turn(colleague_client: Client, colleague: Staff, job: Job) -> None:
    place = position_of(job, "R1")
    assert enter(colleague_client, place, "found", found="220K, scorched").status_code == 302
    assert enter(colleague_client, place, "measured", measured="310K", in_circuit="on").status_code == 302
    assert enter(colleague_client, place, "decide", decision="replace", why="drifted").status_code == 302
    state = state_of(place)
    assert (state.found.text, state.measured.text, state.decision) == ("220K, scorched", "310K", "replace")
    assert (state.verdict, state.measured.in_circuit, state.measured.person) == ("drifted", True, colleague)


def test_a_capacitors_leakage_may_be_given_in_ohms(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C2")
    enter(colleague_client, place, "measured", measured="2 MΩ")
    assert state_of(place).measured.verdict == "leaky"
    assert "It reads 2 MΩ on DC" in state_of(place).reasons


def test_a_valve_is_judged_by_hand(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "V1")
    enter(colleague_client, place, "measured", measured="Gm 55 of 65", verdict="within")
    assert state_of(place).verdict == "within"
    assert "The verdict was given by hand." in state_of(place).reasons


def test_a_part_that_is_judged_bad_stays_in_only_with_a_reason(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="310K")
    answer = enter(colleague_client, place, "decide", decision="keep")
    assert answer.status_code == 422
    assert "The verdict is “drifted”. Say why the part stays in." in answer.content.decode()
    assert enter(colleague_client, place, "decide", decision="keep", why="bias circuit, no current").status_code == 302


def test_the_called_for_value_is_amended_for_this_job(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "amend", called="330K")
    assert (state_of(place).called, place.called) == ("330K", "220K 1/2W")
    assert "amended from" in colleague_client.get(page(place)).content.decode()


def test_wiring_finding_and_note_stand_on_the_position(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "wiring", text="goes to pin 6, not pin 5")
    enter(colleague_client, place, "note", text="body end dot carbon")
    state = state_of(place)
    assert ([entry.text for entry in state.wiring], [entry.text for entry in state.notes]) == (
        ["goes to pin 6, not pin 5"],
        ["body end dot carbon"],
    )


def test_polarity_is_confirmed_after_fitting_and_lapses_with_the_next(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C3")
    lot = a_lot(a_part("47 µF 450 V", technology="electrolytic", polarised=True))
    log.fit(place, log.Fit(lot, drawer_of(lot)), author())
    assert state_of(place).polarity is None
    enter(colleague_client, place, "polarity")
    assert state_of(place).polarity.text == "polarity as the schematic has it"
    log.fit(place, log.Fit(lot, drawer_of(lot)), author())
    assert state_of(place).polarity is None


def test_a_correction_names_what_it_corrects_and_both_are_shown(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="31K")
    first = state_of(place).measured
    form = sent_form(colleague_client.get(page(place) + f"?correct={first.pk}"), "measured")
    assert (form["measured"], form["corrects"]) == ("31K", str(first.pk))
    answer = colleague_client.post(reverse("jobs:entry_measured", args=[place.pk]), form | {"measured": "310K"}, follow=True)
    second = state_of(place).measured
    assert (second.text, second.corrects) == ("310K", first)
    text = answer.content.decode()
    assert "<s>measured: 31K</s>" in text
    assert f"by no. {second.seq}" in text
    assert f"corrects no. {first.seq}" in text


@pytest.mark.parametrize(
    ("name", "field", "before", "after"),
    [
        ("found", "found", "220K", "270K"),
        ("note", "text", "old", "new"),
        ("wiring", "text", "pin 5", "pin 6"),
        ("amend", "called", "33K", "330K"),
    ],
)
def test_each_kind_of_entry_can_be_corrected(
    colleague_client: Client, job: Job, name: str, field: str, before: str, after: str
) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, name, **{field: before})
    first = state_of(place).last_entry
    enter(colleague_client, place, name, **{field: after}, corrects=first.pk)
    assert state_of(place).last_entry.corrects == first
    assert state_of(place).history[-2].is_struck


def test_an_entry_is_corrected_once(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="31K")
    first = state_of(place).measured
    enter(colleague_client, place, "measured", measured="310K", corrects=first.pk)
    answer = enter(colleague_client, place, "measured", measured="320K", corrects=first.pk)
    assert answer.status_code == 422
    assert (
        escape("This entry was corrected or taken back already. The position's history shows by what.") in answer.content.decode()
    )


def test_an_entry_is_taken_back_with_a_reason(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="31K")
    entry = state_of(place).measured
    refused = enter(colleague_client, place, "withdraw", entry=entry.pk, why="")
    assert refused.status_code == 422
    assert enter(colleague_client, place, "withdraw", entry=entry.pk, why="wrong set").status_code == 302
    assert state_of(place).measured is None
    assert "taken back" in colleague_client.get(page(place)).content.decode()


def test_an_entry_of_another_position_is_neither_corrected_nor_taken_back(colleague_client: Client, job: Job) -> None:
    enter(colleague_client, position_of(job, "R1"), "measured", measured="31K")
    foreign, place = state_of(position_of(job, "R1")).measured, position_of(job, "C1")
    assert enter(colleague_client, place, "withdraw", entry=foreign.pk, why="mine").status_code == 422
    assert enter(colleague_client, place, "measured", measured="0.1 µF", corrects=foreign.pk).status_code == 422
    assert state_of(place).entries == []


def test_an_unreadable_value_is_refused_in_words(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    answer = enter(colleague_client, place, "measured", measured="quite a lot")
    assert answer.status_code == 422
    assert 'value="quite a lot"' in answer.content.decode()
    assert not place.entries.filter(kind="measured").exists()


def test_choosing_a_reading_writes_it_out_in_full(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "C2")
    answer = enter(colleague_client, place, "measured", measured="50", in_circuit="on")
    assert "Which did you mean?" in answer.content.decode()
    form = sent_form(answer, "measured") | {"reading-measured": "50 pF"}
    colleague_client.post(reverse("jobs:entry_measured", args=[place.pk]), form)
    entry = state_of(place).measured
    assert (entry.text, entry.in_circuit) == ("50 pF", True)


def test_a_closed_job_takes_no_entry(colleague_client: Client) -> None:
    job = a_job(Stage.HANDED_OVER)
    answer = enter(colleague_client, position_of(job, "R1"), "note", text="late thought")
    assert answer.status_code == 422
    assert "is closed (handed over), so nothing is added to it any more." in answer.content.decode()


def test_the_counter_reads_and_doesnt_write(counter_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    assert counter_client.get(page(place)).status_code == 200
    assert enter(counter_client, place, "found", found="220K").status_code == 403


def test_where_to_go_next_is_a_link(colleague_client: Client, job: Job) -> None:
    text = colleague_client.get(page(position_of(job, "C2"))).content.decode()
    for words in ("Before: C1", "After: C3", "Next unresolved: C3"):
        assert words in text


def test_a_planned_part_is_held_and_gives_its_price(colleague_client: Client, job: Job) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_part("220 kΩ 1 W", "resistance", "carbon_film", list_price_minor=45), 3)
    enter(colleague_client, place, "plan", offer=offer_of(lot), note="as drawn")
    state = state_of(place)
    assert (state.decision, state.planned_minor, state.decided.hold.count) == ("replace", 45, 1)
    text = colleague_client.get(page(place)).content.decode()
    assert "held for this place" in text
    assert "3 free" in text


def test_a_fitted_part_isnt_taken_back_but_out(colleague_client: Client, job: Job) -> None:
    entry = a_fit(job, "C2")
    answer = enter(colleague_client, entry.position, "withdraw", entry=entry.pk, why="wrong")
    assert "A fitted part isn&#x27;t withdrawn; take it out again" in answer.content.decode()
    assert enter(colleague_client, entry.position, "note", once=token(), text="it stays").status_code == 302
