"""Readings of many sets: the same fold as a job's sheet, of old parts only; its pages for everybody who works here."""

import statistics

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Job, RadioModel
from jobs.queries.drift import Drift, drift_of_model, drift_of_place, drift_of_role
from jobs.services import log
from jobs.services.called_for import CalledRow
from shop.tabular import read_csv
from tests.builders import a_fit, a_job, a_lot, a_measurement, a_model, a_part, author, position_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def model() -> RadioModel:
    return a_model()


def a_set_on_the_bench(model: RadioModel, **readings: str) -> Job:
    """A job of this model on inspection, with what was read at its positions."""
    job = a_job("inspecting", model=model, with_fit=False)
    for designator, text in readings.items():
        a_measurement(job, designator, text)
    return job


def of(drifts: list[Drift], name: str) -> Drift:
    return next(one for one in drifts if one.name == name)


class TestTheFold:
    def test_each_set_gives_one_reading_a_position_in_percent_of_what_is_called_for(self, model: RadioModel) -> None:
        """Called for 220 kΩ: 242k is +10 %, 330k +50 %, 198k -10 %; the median by the standard library's `statistics`."""
        for text in ("242K", "330K", "198K"):
            a_set_on_the_bench(model, R1=text)
        place = of(drift_of_model(model), "R1")
        assert [round(one.percent, 6) for one in place.readings] == [10, 50, -10]
        assert place.median == pytest.approx(statistics.median([10, 50, -10]))
        assert (place.sets, place.gone, place.band) == (3, 0, (-20, 20))

    def test_positions_stand_in_circuit_order(self, model: RadioModel) -> None:
        a_set_on_the_bench(model, R1="220K", C3="40 µF", C2=".011 µF")
        assert [one.name for one in drift_of_model(model)] == ["C2", "C3", "R1"]

    def test_a_corrected_reading_counts_as_corrected_and_one_taken_back_not_at_all(self, model: RadioModel) -> None:
        first, second = a_set_on_the_bench(model, R1="990K"), a_set_on_the_bench(model, R1="330K")
        wrong = position_of(first, "R1").entries.get()  # type: ignore[attr-defined]
        log.record_measured(position_of(first, "R1"), "231K", author(), corrects=wrong)
        log.withdraw(position_of(second, "R1").entries.get(), author())  # type: ignore[attr-defined]
        (one,) = of(drift_of_model(model), "R1").readings
        assert one.percent == pytest.approx(5)

    def test_what_was_fitted_is_no_old_part(self, model: RadioModel) -> None:
        job = a_job("repairing", model=model, with_fit=False)
        a_measurement(job, "R1", "330K")
        a_fit(job, "R1", lot=a_lot(a_part("220K 1W", kind="resistance")))
        a_measurement(job, "R1", "221K")
        (one,) = of(drift_of_model(model), "R1").readings
        assert one.text == "330K"

    def test_open_and_shorted_parts_are_counted_as_gone_and_a_leak_is_no_value(self, model: RadioModel) -> None:
        a_set_on_the_bench(model, R1="open", C2="leaks 0.3 mA at 250 V")
        a_set_on_the_bench(model, R1="231K")
        place = of(drift_of_model(model), "R1")
        assert (place.sets, place.gone, len(place.readings)) == (2, 1, 1)
        assert [one.name for one in drift_of_model(model)] == ["R1"]

    def test_a_value_called_for_that_was_amended_later_is_the_one_that_counts(self, model: RadioModel) -> None:
        job = a_set_on_the_bench(model, R1="300K")
        log.amend_called_for(position_of(job, "R1"), "270K", author())
        (one,) = of(drift_of_model(model), "R1").readings
        assert one.percent == pytest.approx(100 / 9)

    def test_values_of_a_role_meet_across_models_however_they_are_written(self, model: RadioModel) -> None:
        other = a_model(
            "Junior", "Halcyra", rows=(CalledRow("C9", "coupling", "0.01 µF 600 V"), CalledRow("C8", "coupling", ".05"))
        )
        a_set_on_the_bench(model, C2=".012 µF")
        a_set_on_the_bench(other, C9=".015 µF", C8=".05 µF")
        assert [(one.name, one.sets) for one in drift_of_role("coupling")] == [("0.01 µF", 2), ("0.05 µF", 1)]
        here, everywhere = drift_of_place(position_of(Job.objects.earliest("pk"), "C2"))
        assert here is not None
        assert everywhere is not None
        assert (here.sets, everywhere.sets) == (1, 2)

    def test_many_sets_ask_no_more_questions_than_one(self, model: RadioModel) -> None:
        a_set_on_the_bench(model, R1="231K")
        with CaptureQueriesContext(connection) as one:
            drift_of_model(model)
        for _ in range(4):
            a_set_on_the_bench(model, R1="240K", C2=".012 µF", C3="40 µF")
        with CaptureQueriesContext(connection) as many:
            assert of(drift_of_model(model), "R1").sets == 5
        assert len(many) == len(one) == 4

    def test_only_the_newest_places_are_read(self, monkeypatch: pytest.MonkeyPatch) -> None:
        model = a_model()
        for read in ("231K", "240K", "250K"):
            a_set_on_the_bench(model, R1=read)
        monkeypatch.setattr("jobs.queries.drift.MOST_PLACES", 2)
        assert [one.text for one in of(drift_of_model(model), "R1").readings] == ["240K", "250K"]


class TestThePages:
    def test_a_model_shows_a_strip_a_position_with_its_sets(self, counter_client: Client, model: RadioModel) -> None:
        job = a_set_on_the_bench(model, R1="242K")
        a_set_on_the_bench(model, R1="2 MΩ")
        shown = counter_client.get(reverse("jobs:model_readings", args=[model.pk])).content.decode()
        assert "R1  220K 1/2W" in shown
        assert "2 sets" in shown
        assert "further out" in shown
        assert reverse("jobs:position", args=[position_of(job, "R1").pk]) in shown

    def test_a_position_stands_beside_the_same_one_in_other_sets(self, colleague_client: Client, model: RadioModel) -> None:
        first, second = a_set_on_the_bench(model, R1="242K"), a_set_on_the_bench(model, R1="330K")
        shown = colleague_client.get(reverse("jobs:position_readings", args=[position_of(second, "R1").pk])).content.decode()
        assert "<h1>R1 in 2 sets</h1>" in shown
        assert f"{first.number} R1" in shown
        assert "in every model" not in shown

    def test_the_values_of_a_role_stand_below_each_other(self, counter_client: Client, model: RadioModel) -> None:
        a_set_on_the_bench(model, C2=".012 µF")
        shown = counter_client.get(reverse("jobs:role_readings", query={"role": "coupling"})).content.decode()
        assert "10 nF" in shown
        assert "1 set" in shown

    def test_the_readings_can_be_saved(self, counter_client: Client, model: RadioModel) -> None:
        job = a_set_on_the_bench(model, R1="242K")
        row = [job.number, "Merrowby Kestrel 5", "R1", "220K 1/2W", "242K", "10.0", "no", "within tolerance"]
        for address in (
            reverse("jobs:model_readings", args=[model.pk], query={"as": "csv"}),
            reverse("jobs:position_readings", args=[position_of(job, "R1").pk], query={"as": "csv"}),
            reverse("jobs:role_readings", query={"role": "plate_load", "as": "csv"}),
        ):
            assert list(read_csv(counter_client.get(address).content))[1:] == [row]

    def test_a_role_that_is_none_is_refused_in_words(self, counter_client: Client) -> None:
        answer = counter_client.get(reverse("jobs:role_readings", query={"role": "<b>wireless"}))
        assert answer.status_code == 422
        assert "Nothing can be shown yet. Put this right:" in answer.content.decode()

    def test_without_readings_they_teach(self, counter_client: Client, model: RadioModel) -> None:
        job = a_job("inspecting", model=model, with_fit=False)
        for address, words in (
            (reverse("jobs:model_readings", args=[model.pk]), "Nothing was measured in a set of this model yet"),
            (reverse("jobs:position_readings", args=[position_of(job, "R1").pk]), "No value was read here yet"),
            (reverse("jobs:role_readings", query={"role": "coupling"}), "Nothing was measured in this role yet"),
        ):
            answer = counter_client.get(address)
            assert answer.status_code == 200
            assert words in answer.content.decode()

    def test_a_stranger_sees_none_of_it(self, stranger_client: Client, model: RadioModel) -> None:
        job = a_set_on_the_bench(model, R1="242K")
        for address in (
            reverse("jobs:model_readings", args=[model.pk]),
            reverse("jobs:position_readings", args=[position_of(job, "R1").pk]),
            reverse("jobs:role_readings"),
        ):
            assert stranger_client.get(address).headers["Location"].startswith(reverse("login"))
