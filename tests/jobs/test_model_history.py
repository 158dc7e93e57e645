"""What sets of a model taught the shop: counted by set, told at intake, on the sheet, on a page, on paper."""

import statistics

import pytest
from django.db import connection
from django.db.models import Q
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Claim, ClaimFinding, Decision, Job, RadioModel, Warranty
from jobs.queries.folded import counts_of_places, states_of, was_decided, was_replaced
from jobs.queries.model_history import glimpse_of, history_of, known_of_places, times_replaced
from jobs.queries.model_likes import likes_of
from jobs.services import log
from jobs.services.called_for import CalledRow
from shop.clock import now
from shop.tabular import read_csv
from tests.builders import a_fit, a_job, a_lot, a_measurement, a_model, a_part, a_set, author, position_of, some_work
from tests.conftest import StillClock

pytestmark = pytest.mark.django_db


@pytest.fixture
def model(still_clock: StillClock) -> RadioModel:
    return a_model()


def decided(model: RadioModel, replaced: str = "", kept: str = "", fault: str = "It hums.", **more: object) -> Job:
    """A set on inspection: some positions are to be replaced, some stay in."""
    job = a_job("inspecting", model=model, with_fit=False, fault=fault, **more)  # type: ignore[arg-type]
    for names, decision in ((replaced, Decision.REPLACE), (kept, Decision.KEEP)):
        for name in names.split():
            log.decide(position_of(job, name), decision, author())
    return job


def by_name(model: RadioModel) -> dict[str, tuple[int, int]]:
    return {one.designator: (one.replaced, one.sets) for one in history_of(model).places}


class TestTheCounts:
    def test_each_set_counts_once_at_each_place_that_was_decided_on(self, model: RadioModel) -> None:
        decided(model, "C1 C2", "R1")
        decided(model, "C1", "C2")
        decided(model)
        assert by_name(model) == {"C1": (2, 2), "C2": (1, 2), "R1": (0, 1)}

    def test_a_set_that_was_here_twice_counts_once(self, model: RadioModel) -> None:
        radio = a_set(model=model)
        for _ in range(2):
            job = decided(model, "C1", radio=radio)
            Job.objects.filter(pk=job.pk).update(stage="returned")
        assert by_name(model) == {"C1": (1, 1)}
        assert history_of(model).sets == 1

    def test_a_correction_counts_as_corrected_and_what_was_taken_out_again_as_left(self, model: RadioModel) -> None:
        job = decided(model, "C1")
        log.decide(position_of(job, "C1"), Decision.KEEP, author(), corrects=position_of(job, "C1").entries.get())  # type: ignore[attr-defined]
        bench = a_job("repairing", model=model, with_fit=False)
        fit = a_fit(bench, "R1", lot=a_lot(a_part("220K 1W", kind="resistance")))
        log.take_out(fit, "wrong value", author(), scrap=False)
        log.decide(position_of(bench, "R1"), Decision.KEEP, author())
        assert by_name(model) == {"C1": (0, 1), "R1": (0, 1)}

    def test_counted_by_the_database_they_are_what_the_fold_says(self, model: RadioModel) -> None:
        self.test_a_correction_counts_as_corrected_and_what_was_taken_out_again_as_left(model)
        twice = decided(model, "C1 C2", "R1", radio=a_set(model=model))
        # What was decided last counts; a decision that is only taken back leaves the one before it corrected too.
        log.decide(position_of(twice, "C2"), Decision.KEEP, author())
        log.withdraw(position_of(twice, "C1").entries.get(), author())  # type: ignore[attr-defined]
        Job.objects.filter(pk=twice.pk).update(stage="returned")
        decided(model, "R1", "C1", radio=twice.radio)
        a_fit(a_job("repairing", model=model, with_fit=False), "C2")
        folded: dict[str, dict[int, bool]] = {}
        for sheet in states_of(Q(job__radio__model=model)).values():
            for state in filter(was_decided, sheet):
                here = folded.setdefault(state.position.designator, {})
                radio = state.position.radio_id  # type: ignore[attr-defined]
                here[radio] = here.get(radio, False) or was_replaced(state)
        counted = counts_of_places(Q(job__radio__model=model))
        assert counted == {name: (len(sets), sum(sets.values())) for name, sets in folded.items()}
        assert counted == {"C1": (2, 0), "C2": (2, 1), "R1": (2, 1)}

    def test_what_was_found_and_judged_stands_with_how_often(self, model: RadioModel) -> None:
        for text in (".05 µF paper", ".05 µF paper", ".01 µF"):
            job = decided(model, kept="C2")
            log.record_found(position_of(job, "C2"), text, author())
            a_measurement(job, "R1", "330K")
        places = {one.designator: one for one in history_of(model).places}
        assert places["C2"].found == ((".05 µF paper", 2), (".01 µF", 1))
        assert places["R1"].faults == (("drifted", 3),)
        assert places["R1"].drift is not None
        assert places["R1"].drift.median == pytest.approx(50)

    def test_voltages_are_summed_up_by_point(self, model: RadioModel) -> None:
        """Lowest, middle and highest by the standard library's `min`, `statistics.median`, `max`."""
        volts = [92, 104, 98]
        for one in volts:
            job = decided(model)
            log.record_voltage(position_of(job, "V1"), "plate", "7", author())
            log.record_voltage(position_of(job, "V1"), "plate", str(one), author())
        (plate,) = history_of(model).points
        assert (plate.low, plate.median, plate.high) == (min(volts), statistics.median(volts), max(volts))
        assert (plate.designator, plate.point, plate.sets) == ("V1", "plate", 3)

    def test_hours_are_those_of_jobs_whose_work_is_done(self, model: RadioModel) -> None:
        for minutes in (60, 180):
            job = a_job("repairing", model=model, labour_minor=90_000, with_fit=False)
            some_work(job, minutes=minutes)
            Job.objects.filter(pk=job.pk).update(stage="ready")
        some_work(a_job("repairing", model=model, labour_minor=90_000, with_fit=False), minutes=600)
        repair, whole = history_of(model).hours
        assert (repair.label, repair.jobs, repair.low, repair.median, repair.high) == ("Repair", 2, 60, 120, 180)
        assert (whole.label, whole.jobs) == ("All steps", 2)

    def test_why_a_set_came_back_is_told_by_what_stands_of_the_findings(self, model: RadioModel) -> None:
        job = decided(model, "C1")
        finding(job, "C1 is open again", "part")
        wrong = finding(job, "fell off a table", "transport")
        ClaimFinding.objects.create(
            claim=wrong.claim,
            text=wrong.text,
            cause="transport",
            corrects=wrong,
            withdrawn=True,
            at=now(),
            person=job.taken_in_by,
        )
        assert history_of(model).causes == [("a part that we fitted failed", 1)]

    def test_many_sets_ask_no_more_questions_than_one(self, model: RadioModel) -> None:
        decided(model, "C1")
        with CaptureQueriesContext(connection) as one:
            history_of(model)
        for _ in range(4):
            decided(model, "C1 C2", "R1")
        with CaptureQueriesContext(connection) as many:
            assert history_of(model).sets == 5
        assert len(many) == len(one) == 6

    @pytest.mark.parametrize(
        ("counts", "words"),
        [
            ((1, 1), "replaced in the other set"),
            ((0, 1), "left alone in the other set"),
            ((3, 4), "replaced in 3 of 4 other sets"),
            ((4, 4), "replaced in all 4 other sets"),
            ((0, 4), "left alone in all 4 other sets"),
        ],
    )
    def test_the_words_are_those_of_the_bench(self, counts: tuple[int, int], words: str) -> None:
        assert times_replaced(*counts) == words


def finding(job: Job, text: str, cause: str) -> ClaimFinding:
    warranty, _ = Warranty.objects.get_or_create(job=job, defaults={"starts_on": now().date()})
    claim, _ = Claim.objects.get_or_create(
        job=job, defaults={"warranty": warranty, "claimed_on": now().date(), "at": now(), "person": job.taken_in_by}
    )
    return ClaimFinding.objects.create(claim=claim, text=text, cause=cause, at=now(), person=job.taken_in_by)


class TestLikes:
    def test_a_new_model_is_told_of_its_makers_sets_with_the_same_supply_and_years(self, model: RadioModel) -> None:
        RadioModel.objects.filter(pk=model.pk).update(year=1949)
        decided(model, "C1 C2", "R1")
        other = a_model("Kestrel 6")
        RadioModel.objects.filter(pk=other.pk).update(year=1952)
        found = likes_of(RadioModel.objects.get(pk=other.pk))
        assert found.how == "by Merrowby, with the same supply (Transformerless (AC/DC)), first made 1947 to 1957"
        assert found.models == ("Merrowby Kestrel 5",)
        assert [(one.role, one.replaced, one.places) for one in found.roles] == [
            ("line_to_chassis", 1, 1),
            ("coupling", 1, 1),
            ("plate_load", 0, 1),
        ]

    def test_other_makers_are_told_apart_and_other_supplies_never_counted(self, model: RadioModel) -> None:
        decided(a_model("Junior", "Halcyra"), "C1")
        decided(a_model("Senior", "Halcyra", supply_kind="battery", rows=(CalledRow("C9", "coupling", ".01"),)), "C9")
        found = likes_of(model)
        assert (
            found.how
            == "by other makers, with the same supply (Transformerless (AC/DC)), of any year, as this model's is not known"
        )
        assert [one.role for one in found.roles] == ["line_to_chassis"]


class TestWhereItIsTold:
    def test_the_page_shows_places_hours_and_faults_and_gives_the_places_as_a_file(
        self, colleague_client: Client, model: RadioModel
    ) -> None:
        decided(model, "C1", "C2", fault="It smells of wax <b>")
        where = reverse("jobs:model_history", args=[model.pk])
        shown = colleague_client.get(where).content.decode()
        assert "in 1 of 1 set" in shown
        assert "It smells of wax &lt;b&gt;" in shown
        rows = list(read_csv(b"".join(colleague_client.get(where, {"as": "csv"}))))
        assert [row[0] for row in rows] == ["Position", "C1", "C2"]

    def test_an_unknown_model_teaches_and_tells_of_its_likes_apart(self, colleague_client: Client, model: RadioModel) -> None:
        decided(a_model("Kestrel 6"), "C1")
        shown = colleague_client.get(reverse("jobs:model_history", args=[model.pk])).content.decode()
        assert "No set of this model was here yet" in shown
        assert "Not this model: sets like it" in shown
        assert "Merrowby Kestrel 6" in shown

    def test_a_stranger_signs_in_first_and_a_model_that_is_none_is_not_found(
        self, stranger_client: Client, colleague_client: Client, model: RadioModel
    ) -> None:
        for name in ("jobs:model_history", "jobs:model_history_pdf"):
            assert "/sign-in/" in stranger_client.get(reverse(name, args=[model.pk]))["Location"]
            assert colleague_client.get(reverse(name, args=[10**6])).status_code == 404

    def test_the_sheet_says_at_each_undecided_place_what_other_sets_needed(
        self, colleague_client: Client, model: RadioModel
    ) -> None:
        decided(model, "C1")
        mine = decided(model, "C2")
        assert known_of_places(mine) == {"C1": "replaced in the other set"}
        words = "replaced in the other set"
        with CaptureQueriesContext(connection) as asked:
            known_of_places(mine)
        assert len(asked) == 1
        assert words in colleague_client.get(reverse("jobs:change_log", args=[mine.pk])).content.decode()
        place = position_of(mine, "C1")
        assert words in colleague_client.get(reverse("jobs:position", args=[place.pk])).content.decode()
        row = colleague_client.get(reverse("jobs:entry_row", args=[place.pk]), headers={"HX-Request": "true"})
        assert words in row.content.decode()

    def test_the_counter_hears_of_it_while_a_known_model_is_taken_in(self, counter_client: Client, model: RadioModel) -> None:
        assert glimpse_of(model) is None
        radio = decided(model, "C1", fault="It whistles.").radio
        shown = counter_client.get(reverse("jobs:intake"), {"customer": radio.customer_id, "set": radio.pk}).content.decode()
        assert "1 set of Merrowby Kestrel 5 was here." in " ".join(shown.split())
        assert "It whistles." in shown
