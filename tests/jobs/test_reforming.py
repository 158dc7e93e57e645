"""Reforming: a run with its readings, what they come to, and what the log of the position is told."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape

from inventory.models import Lot
from jobs.models import EntryKind, Job, Reforming, ReformReading, Stage
from jobs.queries.reforming import run_of
from jobs.services import reforming
from jobs.services.reforming import Setup, Typed
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Staff
from tests.builders import a_job, a_lot, a_part, a_profile, a_staff, position_of
from tests.conftest import StillClock
from tests.jobs.at_bench import state_of, token
from tests.jobs.sent import sent_form


@pytest.fixture
def job(db: None, still_clock: StillClock) -> Job:
    return a_job(Stage.REPAIRING)


@pytest.fixture
def run(job: Job) -> Reforming:
    """16 µF 450 V by JAN-C-62: 0.94 mA allowed."""
    return reforming.start(position_of(job, "C3"), Setup("16 µF 450 V", "90k"), person=a_staff(), at=now())


@pytest.fixture
def lot(db: None) -> Lot:
    a_profile()
    return a_lot(a_part("16 µF 450 V", technology="electrolytic", polarised=True))


def address(name: str, pk: int) -> str:
    return reverse(f"jobs:{name}", args=[pk])


def read(run: Reforming, volts: str, leak: str, minutes: int = 0) -> ReformReading:
    return reforming.add_reading(run, Typed(volts, leak), person=a_staff(), at=run.started_at + timedelta(minutes=minutes))


def send(client: Client, run: Reforming, name: str, **typed: Any) -> Any:
    run.refresh_from_db()
    return client.post(address(f"reforming_{name}", run.pk), {"once": token(), "seen": run.version, **typed})


def page(client: Client, run: Reforming) -> str:
    return client.get(address("reforming", run.pk)).content.decode()


def test_a_run_begins_on_the_position_and_is_found_there(colleague_client: Client, colleague: Staff, job: Job) -> None:
    place = position_of(job, "C3")
    form = sent_form(colleague_client.get(address("reform_position", place.pk)), "marking")
    assert form["marking"] == "47 µF 160 V"
    answer = colleague_client.post(
        address("reform_position", place.pk), form | {"series": "33k", "note": "lay since 1962"}, follow=True
    )
    run = Reforming.objects.get()
    assert (run.position, run.rated_volts, run.series_ohms, run.started_by) == (place, 160, 33000, colleague)
    shown = answer.content.decode()
    assert "never leave it alone while it forms" in shown
    assert "Feed it through 33 kΩ" in shown
    assert address("reforming", run.pk) in colleague_client.get(reverse("jobs:position", args=[place.pk])).content.decode()
    assert colleague_client.get(address("reform_position", place.pk)).headers["Location"] == address("reforming", run.pk)


def test_a_run_begins_on_a_lot(colleague_client: Client, lot: Lot) -> None:
    assert address("reform_lot", lot.pk) in colleague_client.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    form = sent_form(colleague_client.get(address("reform_lot", lot.pk)), "marking")
    assert form["marking"] == "16 µF 450 V"
    colleague_client.post(address("reform_lot", lot.pk), form)
    run = Reforming.objects.get()
    assert (run.lot, run.position, run.series_ohms) == (lot, None, None)
    assert "Feed it through 90 kΩ" in page(colleague_client, run)


def test_readings_are_written_and_drawn(colleague_client: Client, run: Reforming, still_clock: StillClock) -> None:
    for volts, leak in (("45", "2.5"), ("45 V", "0.8 mA"), ("180", "36 V"), ("450 V", "0,9 mA")):
        still_clock.forward(minutes=5)
        assert send(colleague_client, run, "reading", volts=volts, leak=leak).status_code == 302
    assert [(one.volts, round(one.leak_amps, 9)) for one in run.readings.all()] == [
        (45, 0.0025),
        (45, 0.0008),
        (180, 0.0004),
        (450, 0.0009),
    ]
    shown = page(colleague_client, run)
    assert "0.9 mA at 450 V, within the 0.94 mA allowed. Take another reading after 1 to 5 min there." in shown
    assert shown.count('<svg class="chart-wide"') == 2
    assert "Leakage while it forms" in shown


def test_a_sound_run_is_told_to_the_log(colleague_client: Client, run: Reforming) -> None:
    read(run, "450", "0.9", 5)
    read(run, "450", "0.8", 10)
    assert run_of(run).standing.code == "sound"
    assert send(colleague_client, run, "end", outcome="sound").status_code == 302
    run.refresh_from_db()
    measured = state_of(run.position).measured
    assert (run.outcome, measured.text, measured.verdict) == ("sound", "0.8 mA at 450 V", "within")
    assert measured.at == run.ended_at


def test_a_part_that_leaks_is_leaky_in_the_log(colleague_client: Client, run: Reforming) -> None:
    read(run, "450", "1.9", 5)
    send(colleague_client, run, "end", outcome="leaky")
    assert state_of(run.position).verdict == "leaky"


def test_stopping_writes_nothing_into_the_log(colleague_client: Client, run: Reforming) -> None:
    send(colleague_client, run, "end", outcome="stopped")
    assert not run.position.entries.filter(kind=EntryKind.MEASURED).exists()


def test_an_outcome_against_the_readings_needs_a_reason(colleague_client: Client, run: Reforming) -> None:
    read(run, "180", "0.4", 5)
    answer = send(colleague_client, run, "end", outcome="sound")
    assert answer.status_code == 422
    said = "The readings don't say so yet: 0.4 mA at 180 V, not yet at its rated voltage. Go on to the next step."
    assert escape(said) in answer.content.decode()
    assert run_of(run).reforming.ended_at is None
    assert send(colleague_client, run, "end", outcome="sound", note="used at 150 V only").status_code == 302
    other = reforming.start(run.position, Setup("16 µF 450 V"), person=a_staff(), at=now())
    read(other, "450", "0.1", 5)
    assert escape("The readings say otherwise") in send(colleague_client, other, "end", outcome="leaky").content.decode()


def test_what_fails_in_the_log_leaves_the_run_open(job: Job, run: Reforming) -> None:
    read(run, "450", "0.5", 5)
    Job.objects.filter(pk=job.pk).update(billed=True)
    with pytest.raises(Refused, match="is billed"):
        reforming.end(run, "sound", person=a_staff(), at=now())
    run.refresh_from_db()
    assert run.ended_at is None
    assert reforming.end(run, "stopped", person=a_staff(), at=now()).outcome == "stopped"


def test_a_reading_is_corrected_and_taken_back_and_all_stay_readable(colleague_client: Client, run: Reforming) -> None:
    first = read(run, "45", "25", 5)
    form = sent_form(colleague_client.get(address("reforming", run.pk) + f"?correct={first.pk}"), "leak")
    assert (form["volts"], form["leak"], form["corrects"]) == ("45 V", "25 mA", str(first.pk))
    colleague_client.post(address("reforming_reading", run.pk), form | {"leak": "2.5 mA"})
    second = run.readings.last()
    assert (second.corrects, [one.leak_amps for one in run_of(run).standing_readings]) == (first, [0.0025])
    assert run_of(run).taken[0].minutes == 5
    shown = page(colleague_client, run)
    assert "corrects no. 1" in shown
    assert "by no. 2" in shown
    assert send(colleague_client, run, "withdraw", reading=second.pk, why="").status_code == 422
    assert send(colleague_client, run, "withdraw", reading=second.pk, why="meter on the wrong range").status_code == 302
    assert run_of(run).taken == []
    assert len(run_of(run).readings) == 3
    assert "taken back" in page(colleague_client, run)
    with pytest.raises(Stale, match="was corrected or taken back already"):
        reforming.withdraw_reading(run, second, person=a_staff(), at=now())


def test_the_database_refuses_to_change_a_reading(run: Reforming) -> None:
    reading = read(run, "45", "2")
    with pytest.raises(DatabaseError), transaction.atomic():
        ReformReading.objects.filter(pk=reading.pk).update(leak_amps=0)
    with pytest.raises(DatabaseError), transaction.atomic():
        reading.delete()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"volts": "", "leak": "1"}, "This field is required."),
        ({"volts": "lots", "leak": "1"}, "is not understood there"),
        ({"volts": "-45", "leak": "1"}, "The volts across the capacitor lie between 0 and 2000, plus to plus."),
        ({"volts": "45", "leak": "5 A"}, "The leakage lies between 0 and 1 A. A bare number is milliamps."),
        ({"volts": "45", "leak": "2 kΩ"}, "be read as a current"),
        ({"volts": "45", "leak": "--"}, "is not understood there"),
    ],
)
def test_what_cant_be_a_reading_is_refused_and_stays_typed(
    colleague_client: Client, run: Reforming, typed: dict[str, str], said: str
) -> None:
    answer = send(colleague_client, run, "reading", note="kept on the page", **typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert 'value="kept on the page"' in answer.content.decode()
    assert not run.readings.exists()


@pytest.mark.parametrize(
    ("marking", "said"),
    [
        ("16 µF", "Give its rated voltage too, like 20 µF 450 V"),
        ("16+16 µF 450 V", "A can is reformed one section at a time."),
        ("a big one", "is not understood there"),
        ("16 µF 5 kV", "The rated voltage must lie between 1 and 1000 V."),
        ("10 pF 450 V", "The capacitance must lie between"),
    ],
)
def test_what_cant_be_reformed_is_refused(colleague_client: Client, job: Job, marking: str, said: str) -> None:
    place = position_of(job, "C3")
    typed = {"once": token(), "marking": marking, "rule": "jan_c_62", "note": "kept on the page"}
    answer = colleague_client.post(address("reform_position", place.pk), typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert 'value="kept on the page"' in answer.content.decode()
    assert not Reforming.objects.exists()


def test_only_electrolytics_are_reformed(colleague_client: Client, job: Job) -> None:
    answer = colleague_client.get(address("reform_position", position_of(job, "C2").pk))
    assert answer.status_code == 409
    assert "C2 is no electrolytic" in answer.content.decode()
    film = a_lot(a_part("0.01 µF 630 V"))
    assert colleague_client.get(address("reform_lot", film.pk)).status_code == 409


def test_the_same_form_twice_writes_one_reading_and_begins_one_run(colleague_client: Client, job: Job, run: Reforming) -> None:
    once = token()
    for _ in range(2):
        send(colleague_client, run, "reading", once=once, volts="45", leak="2")
    assert run.readings.count() == 1
    typed = {"once": token(), "marking": "16 µF 450 V", "rule": "jan_c_62"}
    answer = colleague_client.post(address("reform_position", run.position_id), typed)
    assert "A run on C3 is open already." in answer.content.decode()
    assert Reforming.objects.count() == 1


def test_the_second_of_two_is_told_and_keeps_what_was_typed(colleague_client: Client, run: Reforming) -> None:
    seen = run.version
    read(run, "45", "2")
    answer = colleague_client.post(
        address("reforming_reading", run.pk), {"once": token(), "seen": seen, "volts": "180", "leak": "0.77"}
    )
    assert answer.status_code == 422
    assert "This run has grown since you opened it. The last reading is 45 V, 2 mA." in answer.content.decode()
    assert 'value="0.77"' in answer.content.decode()
    form = sent_form(answer, "leak")
    assert colleague_client.post(address("reforming_reading", run.pk), form).status_code == 302
    reforming.end(run, "stopped", person=a_staff(), at=now())
    late = send(colleague_client, run, "reading", volts="180", leak="0.5")
    assert "This run was ended by" in late.content.decode()
    assert "You had typed:" in late.content.decode()


def test_strangers_and_the_counter_write_nothing(client: Client, counter_client: Client, run: Reforming) -> None:
    assert client.get(address("reforming", run.pk)).headers["Location"].startswith(reverse("login"))
    assert counter_client.get(address("reforming", run.pk)).status_code == 200
    assert "Write a reading" not in page(counter_client, run)
    for name in ("reading", "end", "withdraw"):
        assert send(counter_client, run, name, volts="45", leak="2").status_code == 403
    assert counter_client.get(address("reform_position", run.position_id)).status_code == 403


def test_the_list_shows_what_is_forming_and_teaches_when_nothing_is(colleague_client: Client, run: Reforming) -> None:
    read(run, "45", "2")
    shown = colleague_client.get(reverse("jobs:reformings")).content.decode()
    assert "2 mA at 45 V, not yet at its rated voltage. Stay here until it falls." in shown
    reforming.end(run, "stopped", person=a_staff(), at=now())
    assert "Nothing is forming now" in colleague_client.get(reverse("jobs:reformings")).content.decode()


def test_the_list_costs_the_same_for_one_run_and_for_fifty(
    colleague_client: Client, lot: Lot, django_assert_num_queries: Callable[..., Any]
) -> None:
    def more(count: int) -> None:
        for _ in range(count):
            read(reforming.start(lot, Setup("16 µF 450 V"), person=a_staff(), at=now()), "45", "2")

    more(1)
    colleague_client.get(reverse("jobs:reformings"))
    with CaptureQueriesContext(connection) as one:
        colleague_client.get(reverse("jobs:reformings"))
    more(49)
    with django_assert_num_queries(len(one)):
        colleague_client.get(reverse("jobs:reformings"))


def test_a_run_keeps_its_own_rule(run: Reforming) -> None:
    other = reforming.start(
        a_lot(a_part("32 µF 450 V", technology="electrolytic", polarised=True)),
        Setup("32 µF 450 V", rule="radiospares_1968"),
        person=a_staff(),
        at=now(),
    )
    assert run_of(other).advice.limit.amps == Decimal("0.00097")
    with pytest.raises(Refused, match="is not a leakage rule"):
        reforming.start(other.lot, Setup("1 µF 50 V", rule="by feel"), person=a_staff(), at=now())
