"""The electrical safety check: what it asks for, what it is worth, and that a later fit voids it."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from jobs.bench.safety import PRACTICES, required_readings
from jobs.forms.proving import SafetyForm
from jobs.models import Job, SafetyCheck, Stage
from jobs.queries.missing import safety_missing
from jobs.services.proving import reading_text
from tests.builders import a_fit, a_job, a_lot, a_profile, a_safety_check
from tests.jobs.at_bench import a_resistor, token

# Voltage across 1.5 kΩ ∥ 0.15 µF to earth, both ways round of the plug, switch on and off: 0.75 V at most; when cold at least
# 1 MΩ (service manuals of a maker, sources in jobs/bench/practices.toml).
WITHIN = {
    "r-hot_volts-normal-on": "0.12",
    "r-hot_volts-normal-off": "0,05",
    "r-hot_volts-reversed-on": "0.31 V",
    "r-hot_volts-reversed-off": "0.04",
    "r-cold_megohms-any-any": "OL",
}


def page(job: Job, name: str = "safety") -> str:
    return reverse(f"jobs:{name}", args=[job.pk])


def record(client: Client, job: Job, **fields: object):
    usual = {
        "once": token(),
        "practice": "hot_check_075",
        "earthed": "no",
        "isolating_transformer": "no",
        "instrument": "leakage box no. 2",
    }
    return client.post(page(job, "safety_record"), {**usual, **WITHIN, **fields})


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.PROVING)


def test_the_page_asks_for_every_reading_of_the_shops_practice(colleague_client: Client, job: Job) -> None:
    text = colleague_client.get(page(job)).content.decode()
    for place in ("plug normal, switch on", "plug normal, switch off", "plug reversed, switch on", "plug reversed, switch off"):
        assert place in text
    for words in (
        "at most 0.75 V",
        "at least 1 MΩ",
        "Made behind an isolating transformer?",
        "Source: Panasonic service manuals",
    ):
        assert words in text


@pytest.mark.parametrize("practice", sorted(PRACTICES))
@pytest.mark.parametrize("earthed", [True, False])
def test_the_form_has_a_place_for_each_required_reading(db: None, practice: str, earthed: bool) -> None:
    form = SafetyForm(practice=practice, earthed=earthed)
    there = {(place.test.code, place.polarity, place.switch) for _, fields in form.groups() for place, _ in fields}
    assert {(one.test.code, one.polarity, one.switch) for one in required_readings(practice, earthed=earthed)} <= there


def test_a_check_within_its_limits_passes_and_frees_the_set(colleague_client: Client, job: Job) -> None:
    answer = record(colleague_client, job)
    assert answer.status_code == 302
    check = SafetyCheck.objects.get()
    assert (check.passed, check.instrument, check.practice) == (True, "leakage box no. 2", "hot_check_075")
    assert {one.reading for one in check.readings.all()} == {"0.12", "0.05", "0.31", "0.04", "over range"}
    assert safety_missing(job) == []


def test_one_reading_outside_fails_the_check_and_is_kept(colleague_client: Client, job: Job) -> None:
    record(colleague_client, job, **{"r-hot_volts-reversed-on": "0.76"})
    check = SafetyCheck.objects.get()
    assert not check.passed
    assert "plug reversed, switch on: 0.76 V, at most 0.75 V is allowed" in check.findings
    assert safety_missing(job) == ["a passed electrical safety check (the last one failed)"]
    assert "not passed" in colleague_client.get(page(job)).content.decode()


def test_over_range_fails_where_the_least_is_wanted(colleague_client: Client, job: Job) -> None:
    record(colleague_client, job, **{"r-hot_volts-normal-on": "OL"})
    assert not SafetyCheck.objects.get().passed


def test_the_other_instrument_will_do(colleague_client: Client, job: Job) -> None:
    by_milliamps = {name: "" for name in WITHIN if "volts" in name}
    by_milliamps |= {name.replace("volts", "milliamps"): "0.2" for name in WITHIN if "volts" in name}
    record(colleague_client, job, **by_milliamps)
    assert SafetyCheck.objects.get().passed


def test_behind_an_isolating_transformer_it_proves_nothing(colleague_client: Client, job: Job) -> None:
    record(colleague_client, job, isolating_transformer="yes")
    check = SafetyCheck.objects.get()
    assert not check.passed
    assert "An isolating transformer breaks the path this check is about." in check.findings


def test_it_must_be_said_whether_there_was_an_isolating_transformer(colleague_client: Client, job: Job) -> None:
    answer = record(colleague_client, job, isolating_transformer="")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Say whether the readings were made behind an isolating transformer: it decides what they are worth." in text
    assert 'value="0.12"' in text
    assert not SafetyCheck.objects.exists()


def test_a_missing_reading_is_named_and_the_others_stay(colleague_client: Client, job: Job) -> None:
    answer = record(colleague_client, job, **{"r-hot_volts-reversed-off": ""})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Readings are missing: " in text
    assert "plug reversed, switch off." in text
    assert 'value="0.31 V"' in text
    assert not SafetyCheck.objects.exists()


@pytest.mark.parametrize("typed", ["-0.1", "low", "1e9", "0.1 mA", "1.2.3"])
def test_an_unreadable_reading_is_refused(colleague_client: Client, job: Job, typed: str) -> None:
    answer = record(colleague_client, job, **{"r-hot_volts-normal-on": typed})
    assert answer.status_code == 422
    assert f"“{typed}” can&#x27;t be read. Type the reading in V, such as 0.12, or OL." in answer.content.decode()


def test_a_set_with_protective_earth_is_asked_for_its_own_readings(colleague_client: Client) -> None:
    a_profile(safety_practice="vde_0701_0702")
    job = a_job(Stage.PROVING)
    without = colleague_client.get(page(job)).content.decode()
    with_earth = colleague_client.get(page(job) + "?earthed=yes").content.decode()
    assert "Protective conductor current" not in without
    assert "Protective conductor current" in with_earth


def test_a_practice_that_was_changed_meanwhile_is_told(colleague_client: Client, job: Job) -> None:
    a_profile(safety_practice="hot_check_015")
    answer = record(colleague_client, job)
    assert answer.status_code == 422
    assert "practice was changed since you opened this page" in answer.content.decode()


def test_it_must_be_made_again_after_a_later_fit(colleague_client: Client, job: Job) -> None:
    a_safety_check(job)
    assert safety_missing(job) == []
    a_fit(job, "R1", a_lot(a_resistor()))
    assert safety_missing(job) == ["a new electrical safety check, as the circuit was changed after the last one"]
    assert "void: the circuit was changed since" in colleague_client.get(page(job)).content.decode()
    a_safety_check(job)
    assert safety_missing(job) == []


def test_the_same_check_sent_twice_is_recorded_once(colleague_client: Client, job: Job) -> None:
    once = token()
    for _ in range(2):
        assert record(colleague_client, job, once=once).status_code == 302
    assert SafetyCheck.objects.count() == 1


def test_the_sheet_is_a_pdf(counter_client: Client, job: Job) -> None:
    check = a_safety_check(job)
    answer = counter_client.get(reverse("jobs:safety_sheet", args=[check.pk]))
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/pdf")
    assert answer.content.startswith(b"%PDF")


def test_cautions_stand_on_it_and_defer_to_local_codes(colleague_client: Client, job: Job) -> None:
    text = colleague_client.get(page(job)).content.decode()
    assert "The chassis may be live" in text
    assert "Local codes and licensed practice come first." in text


def test_the_counter_and_a_stranger_record_nothing(counter_client: Client, stranger_client: Client, job: Job) -> None:
    assert record(counter_client, job).status_code == 403
    assert record(stranger_client, job).headers["Location"].startswith(reverse("login"))
    assert not SafetyCheck.objects.exists()


def test_infinity_prints_as_words() -> None:
    assert (reading_text(Decimal("Infinity")), reading_text(Decimal("0.50"))) == ("over range", "0.50")
