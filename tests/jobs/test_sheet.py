"""The change log sheet: what a row says, entry in a row, the way back to it, and its cost in queries."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from jobs.models import Job, Stage
from jobs.services import log
from jobs.services.called_for import CalledRow
from shop.models import Staff
from tests.builders import a_fit, a_job, a_measurement, a_model, author, position_of
from tests.jobs.at_bench import token
from tests.jobs.sent import sent_form


def sheet_page(job: Job) -> str:
    return reverse("jobs:change_log", args=[job.pk])


def send_row(client: Client, job: Job, designator: str, seen: int = 0, **fields: object):
    address = reverse("jobs:entry_row", args=[position_of(job, designator).pk])
    return client.post(address, {"once": token(), "seen": seen, **fields})


def test_a_row_shows_what_the_log_leaves(colleague_client: Client, colleague: Staff) -> None:
    job = a_job(Stage.REPAIRING)
    log.record_found(position_of(job, "R1"), "220K, scorched", author(colleague))
    a_measurement(job, "R1", "310K", person=colleague)
    a_fit(job, "C2")
    text = colleague_client.get(sheet_page(job)).content.decode()
    for words in (
        "220K, scorched",
        "310K",
        "drifted",
        "40.9 % above the 220 kΩ called for",
        "0.01 µF 630 V film",
        "£0.60",
        "Benno Tarnwick",
    ):
        assert words in text


def test_positions_stand_in_circuit_order(colleague_client: Client) -> None:
    text = colleague_client.get(sheet_page(a_job())).content.decode()
    places = [text.index(f">{name}</a>") for name in ("C1", "C2", "C3", "R1", "V1")]
    assert places == sorted(places)


def test_the_next_unresolved_position_is_named_at_the_top(colleague_client: Client) -> None:
    job = a_job()
    assert "Next: C1, to inspect" in colleague_client.get(sheet_page(job)).content.decode()
    log.record_found(position_of(job, "C1"), "unmarked", author())
    log.decide(position_of(job, "C1"), "keep", author())
    assert "Next: C2, to inspect" in colleague_client.get(sheet_page(job)).content.decode()


def test_a_sheet_without_positions_says_where_they_come_from(owner_client: Client) -> None:
    job = a_job(model=a_model("Nightjar 2", rows=()))
    assert "No positions yet" in owner_client.get(sheet_page(job)).content.decode()


def test_a_row_takes_found_measured_and_decision_in_one_sending(colleague_client: Client, colleague: Staff) -> None:
    job = a_job()
    place = position_of(job, "R1")
    answer = send_row(
        colleague_client, job, "R1", found="220K", measured="310K", in_circuit="on", decision="replace", why="drifted"
    )
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{sheet_page(job)}#p-{place.pk}"
    kinds = [(entry.kind, entry.person) for entry in place.entries.order_by("seq")]
    assert kinds == [("found", colleague), ("measured", colleague), ("decided", colleague)]
    assert place.entries.get(kind="measured").in_circuit


def test_a_refused_row_comes_back_open_with_everything_typed(colleague_client: Client) -> None:
    job = a_job()
    answer = send_row(colleague_client, job, "R1", found="brown one", measured="half a pint", decision="replace")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="brown one"' in text
    assert 'value="half a pint"' in text
    assert not job.entries.exists()


def test_a_row_with_nothing_filled_in_is_refused(colleague_client: Client) -> None:
    answer = send_row(colleague_client, a_job(), "R1", found=" ")
    assert answer.status_code == 422
    assert escape("Nothing was filled in. Enter what was found or measured, or choose a decision.") in answer.content.decode()


def test_an_ambiguous_value_offers_its_readings_and_keeps_the_rest(colleague_client: Client) -> None:
    job = a_job()
    answer = send_row(colleague_client, job, "C2", found="black beauty", measured="50", why="looks bad")
    text = answer.content.decode()
    assert 'name="reading-measured" value="50 pF"' in text
    assert 'name="reading-measured" value="50 µF"' in text
    again = sent_form(answer, "measured") | {"reading-measured": "50 pF"}
    colleague_client.post(reverse("jobs:entry_row", args=[position_of(job, "C2").pk]), again)
    assert [entry.text for entry in job.entries.order_by("seq")] == ["black beauty", "50 pF"]


def test_a_script_gets_the_row_with_its_form_and_others_the_position(colleague_client: Client) -> None:
    place = position_of(a_job(), "R1")
    address = reverse("jobs:entry_row", args=[place.pk])
    piece = colleague_client.get(address, headers={"HX-Request": "true"})
    assert piece.content.decode().startswith(f'<tr id="p-{place.pk}"')
    assert b"<html" not in piece.content
    assert colleague_client.get(address).headers["Location"] == reverse("jobs:position", args=[place.pk])


def test_the_counter_reads_the_sheet_and_enters_nothing(counter_client: Client) -> None:
    job = a_job()
    assert ">Enter<" not in counter_client.get(sheet_page(job)).content.decode()
    assert send_row(counter_client, job, "R1", measured="220K").status_code == 403
    assert not job.entries.exists()


def test_a_stranger_is_sent_to_sign_in(stranger_client: Client, db: None) -> None:
    job = a_job()
    assert stranger_client.get(sheet_page(job)).headers["Location"].startswith(reverse("login"))
    assert send_row(stranger_client, job, "R1", measured="220K").status_code == 302
    assert not job.entries.exists()


def test_a_position_that_the_list_lacks_is_added_and_kept_with_the_model(counter_client: Client) -> None:
    job = a_job()
    address = reverse("jobs:position_add", args=[job.pk])
    form = sent_form(counter_client.get(address)) | {"designator": "c47", "role": "bypass", "called": "0.1 µF"}
    assert counter_client.post(address, form).status_code == 302
    assert position_of(job, "C47").called == "0.1 µF"
    assert job.radio.model.called_for.filter(designator="C47").exists()


def test_a_designator_stands_for_one_position(counter_client: Client) -> None:
    job = a_job()
    send = {"once": token(), "designator": "C2", "role": "bypass"}
    answer = counter_client.post(reverse("jobs:position_add", args=[job.pk]), send)
    assert answer.status_code == 422
    assert "C2 is on the sheet already." in answer.content.decode()


@pytest.mark.parametrize("count", [1, 200])
def test_the_number_of_queries_is_the_same_for_one_position_and_for_two_hundred(
    colleague_client: Client, count: int, django_assert_num_queries
) -> None:
    rows = [CalledRow(f"R{n}", "plate_load", "220K") for n in range(1, count + 1)]
    job = a_job(model=a_model(f"With {count}", rows=rows))
    for row in job.positions.all():
        log.record_measured(row, "250K", author())
        log.decide(row, "keep", author())
    # Three ask who it is: the session, the person, and whether the place where they signed in was ended from elsewhere.
    with django_assert_num_queries(13):
        colleague_client.get(sheet_page(job))
