"""Every set that a bad lot is in: in danger order, with its owner, the letters and answers; the second look sees it."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import BadLot, Lot
from inventory.queries.bad_lots import found_together
from inventory.services.bad_lots import lift
from jobs.models import BadLotLetter, Job, LogEntry, Stage, WarrantyLine
from jobs.queries.bad_lots import TAKEN_BACK, BadLots, bad_lots_of, fits_of, minutes_a_fit, to_be_told
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import sheet_of
from jobs.services import log
from jobs.services.bad_lot_letters import Told, record_answer, record_letters, take_letters_back
from shop.acts import Refused, Stale
from shop.clock import now, today
from shop.models import Profile, Role, Staff
from shop.views.day_bad_lots import claimable, untold
from shop.views.day_lines import Desk
from shop.views.day_ways import Ways
from tests.builders import a_customer, a_fit, a_job, a_lot, a_part, a_staff, a_supplier, author, some_work
from tests.conftest import StillClock, signed_in
from tests.inventory.builders import errors_of, post, texts
from tests.jobs.bad_lots import a_bad_lot, a_letter, a_supplier_claim

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _monday(still_clock: StillClock) -> None:
    pass


def y_lot(count: int = 10) -> Lot:
    return a_lot(a_part("0.0047 µF 250 V Y2", safety_class="Y2"), count=count, supplier=a_supplier())


def with_part(lot: Lot, stage: str = Stage.HANDED_OVER, designator: str = "C1", name: str = "Iwona Brzask") -> Job:
    """A job that fitted one of the lot, at a stage; the rest of it stays in."""
    job = a_job(Stage.REPAIRING, customer=a_customer(name), with_fit=False)
    a_fit(job, designator, lot, override_reason="nothing else at hand", override_by=a_staff("second"))
    Job.objects.filter(pk=job.pk).update(stage=stage)
    job.refresh_from_db()
    return job


def seen(bad: BadLot) -> BadLots:
    return bad_lots_of(bad, today(), Profile.current())


def fit_of(job: Job) -> LogEntry:
    return LogEntry.objects.select_related("job__radio__customer", "lot").filter(job=job, kind="fitted")[0]


def told(*jobs: Job) -> Told:
    return Told([fit_of(job) for job in jobs], today(), "post")


class TestTheSets:
    def test_stand_in_the_order_of_danger(self) -> None:
        lot = y_lot()
        with_part(lot, designator="C2", name="Tomislav Feld")
        with_part(lot, designator="C1")
        sets = seen(a_bad_lot(fit_of_any(lot).job)).sets
        assert [(one.designator, one.risk.word, str(one.owner)) for one in sets] == [
            ("C1", "Danger", "Iwona Brzask"),
            ("C2", "May fail", "Tomislav Feld"),
        ]

    def test_say_where_the_part_is_now(self) -> None:
        lot = y_lot()
        job = a_job(Stage.REPAIRING, with_fit=False)
        out = a_fit(job, "C1", lot)
        log.take_out(out, "too long", author(), scrap=True)
        gone = with_part(lot, name="Tomislav Feld")
        again = a_job(Stage.REPAIRING, radio=gone.radio, with_fit=False)
        a_fit(again, "C1", y_lot())
        Job.objects.filter(pk=again.pk).update(stage=Stage.HANDED_OVER)
        here = with_part(lot, Stage.PROVING, name="Hedda Quorn")
        standing = {one.job: one.standing[1] for one in seen(a_bad_lot(gone)).sets}
        assert standing == {job: "taken out again", gone: "replaced in a later job", here: "in the set, which is here"}

    def test_know_the_last_day_of_the_warranty(self, still_clock: StillClock) -> None:
        job = a_job(Stage.HANDED_OVER)
        bad = a_bad_lot(job)
        line = WarrantyLine.objects.get(entry=fit_of(job))
        (one,) = seen(bad).sets
        assert (one.cover_until_on, one.cover_runs) == (line.until_on, True)
        assert line.until_on is not None
        still_clock.forward(days=(line.until_on - today()).days)
        assert seen(bad).sets[0].cover_runs
        still_clock.forward(days=1)
        assert not seen(bad).sets[0].cover_runs

    def test_carry_a_part_at_cost_and_the_work_as_a_guess(self) -> None:
        lot = y_lot()
        job = with_part(lot, Stage.REPAIRING)
        Profile.objects.update(hour_cost_minor=2400)
        (one,) = seen(a_bad_lot(job)).sets
        assert (one.part_minor, one.labour_minutes, one.at_risk_minor) == (20, 30, 20 + 1200)
        some_work(job, 90)
        a_fit(job, "C2", a_lot())
        assert minutes_a_fit([job.pk]) == {job.pk: 45}

    def test_of_lots_found_in_one_act_stand_together(self) -> None:
        lot = y_lot()
        other = a_lot(lot.part, supplier=lot.supplier, date_code="7K3")
        job, second = with_part(lot), with_part(other, name="Tomislav Feld")
        bad = a_bad_lot(job, date_code="7K3", also=(other,))
        assert {one.job for one in seen(bad).sets} == {job, second}
        assert seen(found_together(bad)[1]).sets == seen(bad).sets

    def test_cost_as_many_questions_for_many_as_for_one(
        self, owner_client: Client, django_assert_max_num_queries: object
    ) -> None:
        lot = y_lot(20)
        url = reverse("jobs:bad_lot", args=[a_bad_lot_with(lot).pk])
        owner_client.get(url)
        with django_assert_max_num_queries(25) as few:  # type: ignore[operator]
            owner_client.get(url)
        Lot.objects.update(blocked_reason="")
        for name in ("Tomislav Feld", "Hedda Quorn", "Odile Marrow"):
            with_part(lot, name=name)
        with django_assert_max_num_queries(len(few.captured_queries)):  # type: ignore[operator]
            assert "Odile Marrow" in texts(owner_client.get(url))


def fit_of_any(lot: Lot) -> LogEntry:
    return LogEntry.objects.filter(lot=lot, kind="fitted").select_related("job")[0]


def a_bad_lot_with(lot: Lot) -> BadLot:
    return a_bad_lot(with_part(lot))


class TestLetters:
    def test_go_to_whoever_has_the_part_and_wasnt_told(self) -> None:
        lot = y_lot()
        first, second = with_part(lot), with_part(lot, name="Tomislav Feld")
        with_part(lot, Stage.PROVING, name="Hedda Quorn")
        bad = a_bad_lot(first)
        assert {one.job for one in seen(bad).to_tell} == {first, second}
        record_letters([bad], told(first), person=a_staff(), at=now())
        assert [one.job for one in seen(bad).to_tell] == [second]
        assert [fit.job for fit in to_be_told(fits_of([lot]))] == [second]
        assert BadLotLetter.objects.get().to_whom == "Iwona Brzask"

    def test_that_didnt_go_out_are_still_to_go(self) -> None:
        lot = y_lot()
        job = with_part(lot)
        bad = a_bad_lot(job)
        a_letter(bad)
        assert seen(bad).to_tell == []
        take_letters_back([bad], [fit_of(job)], person=a_staff(), at=now())
        assert [one.job for one in seen(bad).to_tell] == [job]
        assert seen(bad).sets[0].letter is None
        assert to_be_told(fits_of([lot])).count() == 1
        a_letter(bad)
        assert to_be_told(fits_of([lot])).count() == 0

    def test_an_answer_stands_beside_the_letter(self) -> None:
        bad = a_bad_lot_with(y_lot())
        a_letter(bad, "she brings it on Monday")
        (one,) = seen(bad).sets
        assert one.letter is not None
        assert one.answer is not None
        assert one.answer.answer == "she brings it on Monday"

    def test_are_refused_in_words(self) -> None:
        lot = y_lot()
        job = with_part(lot)
        bad, stranger = a_bad_lot(job), with_part(y_lot(), name="Tomislav Feld")
        wrong = [
            (Told([], today(), "post"), "Tick whom it went to."),
            (told(stranger), "One of these sets has no part of this lot in it."),
            (Told([fit_of(job)], today() + timedelta(days=1), "post"), "That day lies ahead."),
            (Told([fit_of(job)], today() - timedelta(days=1), "post"), "That lies before the lot was found bad."),
            (Told([fit_of(job)], today(), " "), "Say how it was sent."),
        ]
        for one, words in wrong:
            with pytest.raises(Refused, match=words):
                record_letters([bad], one, person=a_staff(), at=now())
        for answer, words in ((" ", "Write what they answered"), (TAKEN_BACK, "Use the button beside the letter")):
            with pytest.raises(Refused, match=words):
                record_answer([bad], told(job), answer, person=a_staff(), at=now())
        with pytest.raises(Stale):
            record_letters([bad], told(job), person=a_staff(), at=now(), seen=99)

    def test_of_a_lot_that_was_lifted_dont_go_out(self, owner: Staff) -> None:
        bad = a_bad_lot_with(y_lot())
        lift(bad, "sound", person=owner, at=now())
        bad.refresh_from_db()
        assert seen(bad).to_tell == []


class TestPages:
    def test_the_bad_lots_page_leads_to_all_that_is_to_do(self, owner_client: Client) -> None:
        job = with_part(y_lot())
        bad = a_bad_lot(job, danger="The metal may be live.", reference=job.number)
        page = texts(owner_client.get(reverse("jobs:bad_lot", args=[bad.pk])))
        for words in ("leaks at half its voltage", "Iwona Brzask", "Danger", "to send", "somebody may be in danger"):
            assert words in page
        assert f"{reverse('jobs:intake')}?customer={job.customer_id}&amp;set={job.radio_id}" in page
        assert reverse("inventory:supplier_claim_new", args=[bad.lot_id]) in page

    def test_letters_are_one_pdf_a_page_an_owner_the_gravest_first(self, counter_client: Client) -> None:
        lot = y_lot()
        with_part(lot, designator="C2", name="Tomislav Feld")
        bad = a_bad_lot(with_part(lot), danger="The metal may be live.")
        answer = counter_client.get(reverse("jobs:bad_lot_letters", args=[bad.pk]))
        pages = [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]
        first, second = (" ".join(page.split()) for page in pages)
        assert "Please don’t use your set" in first
        assert "Please switch the set off, pull its plug out of the wall" in first
        assert "Iwona Brzask" in first
        assert "the rules of your place come first" in first
        assert "Tomislav Feld" in second
        assert "Please let us look at it soon" in second
        one = counter_client.get(reverse("jobs:bad_lot_letters", args=[bad.pk]), {"entry": str(fit_of_any(lot).pk)})
        assert len(PdfReader(BytesIO(one.content)).pages) == 1
        a_letter(bad)
        assert counter_client.get(reverse("jobs:bad_lot_letters", args=[bad.pk])).status_code == 409

    def test_letters_that_went_out_are_written_down_once_and_can_be_taken_back(self, counter_client: Client) -> None:
        job = with_part(y_lot())
        bad, entry = a_bad_lot(job), fit_of(job)
        url = reverse("jobs:bad_lot_sent", args=[bad.pk])
        typed = {
            "once": "5f0c5c1e-8c4e-4a39-9a0e-4b1f7e0e0002",
            "on": "2026-03-02",
            "seen": "0",
            "how": "post",
            "entries": [entry.pk],
        }
        for _ in range(2):
            done = counter_client.post(url, typed)
        assert BadLotLetter.objects.count() == 1
        assert "They didn’t go out" in texts(counter_client.get(done["Location"]))
        post(counter_client, "jobs:bad_lot_unsent", bad.pk, entries=str(entry.pk))
        assert [one.job for one in seen(bad).to_tell] == [job]
        assert post(counter_client, "jobs:bad_lot_unsent", bad.pk, entries="x,7").status_code == 409

    def test_an_answer_is_written_down_and_a_bad_one_keeps_its_words(self, counter_client: Client) -> None:
        job = with_part(y_lot())
        bad, entry = a_bad_lot(job), fit_of(job)
        facts = {"on": "2026-03-02", "seen": "0", "how": "by telephone"}
        wrong = post(counter_client, "jobs:bad_lot_answer", bad.pk, **facts, answer="it hums")
        assert wrong.status_code == 422
        assert "entries" in errors_of(wrong)
        assert "it hums" in texts(wrong)
        stale = post(counter_client, "jobs:bad_lot_answer", bad.pk, **{**facts, "seen": "5"}, answer="it hums", entries=entry.pk)
        assert "Somebody else wrote a letter or an answer down" in errors_of(stale)["__all__"][0]
        assert post(counter_client, "jobs:bad_lot_answer", bad.pk, **facts, answer="it hums", entries=entry.pk).status_code == 302

    def test_lists_teach_while_empty_and_can_be_saved(self, owner_client: Client) -> None:
        url = reverse("jobs:bad_lots")
        assert "No lot turned out bad" in texts(owner_client.get(url))
        bad = a_bad_lot_with(y_lot())
        assert "1 dangerous" in texts(owner_client.get(url))
        assert b"leaks at half its voltage" in owner_client.get(url, {"as": "csv"}).content
        assert b"Iwona Brzask" in owner_client.get(reverse("jobs:bad_lot", args=[bad.pk]), {"as": "csv"}).content

    def test_a_stranger_signs_in_first(self, stranger_client: Client) -> None:
        bad = a_bad_lot_with(y_lot())
        for page in ("bad_lot", "bad_lot_letters", "bad_lot_sent", "bad_lot_answer"):
            assert stranger_client.get(reverse(f"jobs:{page}", args=[bad.pk])).status_code == 302

    def test_a_fitted_part_leads_to_its_lot(self, colleague_client: Client) -> None:
        job = with_part(y_lot(), Stage.REPAIRING)
        entry = fit_of(job)
        url = reverse("jobs:position", args=[entry.position_id])
        way = reverse("inventory:bad_lot_new", args=[entry.lot_id])
        assert f'href="{way}?job={job.number}"' in texts(colleague_client.get(url))
        a_bad_lot(job)
        assert "its lot is blocked" in texts(colleague_client.get(url))


class TestTheSecondLook:
    @pytest.mark.parametrize(("designator", "blocks"), [("C1", True), ("C2", False)])
    def test_names_a_part_of_a_bad_lot_and_lets_no_danger_pass(self, designator: str, blocks: bool) -> None:
        job = with_part(y_lot(), Stage.PROVING, designator)
        a_bad_lot(job)
        points = {point.code: point for point in second_look_points(sheet_of(job))}
        assert "is of a lot that is blocked: leaks at half its voltage" in points["blocked_lot"].text
        assert points["blocked_lot"].blocks is blocks


class TestToday:
    def test_tells_of_owners_to_be_told_and_of_what_the_supplier_stands_by(self, counter: Staff) -> None:
        lot = y_lot()
        bad = a_bad_lot(with_part(lot))
        desk = Desk(counter, now(), Profile.current(), Ways(counter))
        assert [(one.bad, one.count, one.dangerous) for one in untold()] == [(bad, 1, 1)]
        assert [one.lot for one in claimable(desk)] == [lot]
        a_letter(bad)
        a_supplier_claim(bad.lot)
        assert untold() == []
        assert claimable(desk) == []

    def test_shows_both_with_their_ways(self) -> None:
        a_bad_lot_with(y_lot())
        page = texts(signed_in(a_staff("desk", Role.COUNTER)).get(reverse("today")))
        assert "1 owner isn’t told yet" in page
        assert "They went out" in page
        assert "Claim it" in page
