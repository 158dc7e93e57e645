"""Valves set apart: a lot of one with a mark, at the cost it came in at; readings with tester, calibration and day; mates."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory import services as stock
from inventory.models import Lot, LotPhoto, MatchedSet, Movement, ValveTest, ValveTester
from inventory.queries.individuals import individual, individuals, matchable, shown, to_be_tested
from inventory.services import Tested, TesterFacts
from jobs.models import Stage
from shop.acts import Refused, Stale
from shop.models import Staff
from tests.builders import a_drawer, a_fit, a_job, a_lot, a_part, a_profile, a_staff, a_supplier, drawer_of, position_of
from tests.conftest import MONDAY
from tests.inventory.builders import once, post, texts
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db
DAY = MONDAY.date()


@pytest.fixture
def lot(db: None) -> Lot:
    a_profile()
    part = a_part("12SK7", "valve", list_price_minor=1500)
    return a_lot(part, 6, a_drawer("V", "2"), 400_000, at=MONDAY, supplier=a_supplier(), date_code="8-4")


@pytest.fixture
def person(db: None) -> Staff:
    return a_staff()


@pytest.fixture
def tester(db: None) -> ValveTester:
    return stock.add_tester(TesterFacts("the grey tester", date(2026, 1, 5)), today=DAY)


def apart(lot: Lot, person: Staff, *marks: str) -> list[Lot]:
    return stock.set_apart(lot, drawer_of(lot), marks or ("V1", "V2"), person=person, at=MONDAY)


def a_reading(tester: ValveTester, reading: str = "72", verdict: str = "good", **more: Any) -> Tested:
    return Tested(tester, reading, verdict, **{"tested_on": DAY, **more})


def test_one_set_apart_keeps_everything_its_lot_knows(lot: Lot, person: Staff) -> None:
    one, other = apart(lot, person)
    assert lot.balances.get().on_hand == 4
    assert one.balances.get().on_hand == other.balances.get().on_hand == 1
    for name in ("part", "supplier", "received_on", "date_code", "condition", "unit_cost_milli", "return_until_on"):
        assert getattr(one, name) == getattr(lot, name)
    assert one.split_from == lot
    moved = Movement.objects.exclude(kind="received").values_list("kind", "count")
    assert sorted(moved) == [("split_in", 1), ("split_in", 1), ("split_out", -2)]


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        (("V1", "v1"), "Two of the marks are the same."),
        (("V 1",), "can't be a mark"),
        (("",), "can't be a mark"),
        (("x" * 21,), "can't be a mark"),
        (tuple(f"V{n}" for n in range(7)), "has 6 of 12SK7"),
        ((), "The count must be at least 1."),
    ],
)
def test_what_cant_be_set_apart_is_told_and_nothing_moves(marks: tuple[str, ...], said: str, lot: Lot, person: Staff) -> None:
    with pytest.raises(Refused, match=said):
        stock.set_apart(lot, drawer_of(lot), marks, person=person, at=MONDAY)
    assert lot.balances.get().on_hand == 6


def test_a_mark_is_borne_once_and_an_individual_isnt_set_apart_again(lot: Lot, person: Staff) -> None:
    (one,) = apart(lot, person, "V9")
    with pytest.raises(Refused, match="There is an individual V9 already"):
        apart(lot, person, "v9")
    with pytest.raises(Refused, match="V9 is an individual already"):
        apart(one, person, "V10")
    assert stock.next_marks(2) == ["V10", "V11"]


def test_held_pieces_cant_be_set_apart(lot: Lot, person: Staff) -> None:
    stock.hold(lot, drawer_of(lot), 5, reference="J", person=person, at=MONDAY)
    with pytest.raises(stock.NotEnough):
        apart(lot, person, "V1", "V2")


def test_an_individual_is_fitted_like_any_lot_and_can_be_traced(lot: Lot, person: Staff) -> None:
    (one,) = apart(lot, person, "V1")
    entry = a_fit(a_job(Stage.REPAIRING), "V1", one)
    assert entry.lot == one
    assert one.balances.get().on_hand == 0
    assert not individuals().exists()
    assert list(individuals(gone=True)) == [one]


def test_a_reading_keeps_the_calibration_of_its_day(lot: Lot, person: Staff, tester: ValveTester) -> None:
    (one,) = apart(lot, person, "V1")
    stock.record_test(one, a_reading(tester), person=person, at=MONDAY)
    seen = stock.tester_seen(tester)
    stock.change_tester(tester, TesterFacts("the green tester", date(2026, 2, 1)), today=DAY, seen=seen)
    kept = ValveTest.objects.get()
    assert (kept.tester_name, kept.calibrated_on, kept.reading) == ("the grey tester", date(2026, 1, 5), "72")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reading": "  "}, "Type what the tester showed."),
        ({"verdict": "lovely"}, "Choose a verdict."),
        ({"tested_on": DAY + timedelta(days=1)}, "The day of the test lies in the future."),
    ],
)
def test_a_reading_that_cant_be_is_refused(
    change: dict[str, Any], said: str, lot: Lot, person: Staff, tester: ValveTester
) -> None:
    (one,) = apart(lot, person, "V1")
    with pytest.raises(Refused, match=said):
        stock.record_test(one, a_reading(tester, **change), person=person, at=MONDAY)


def test_a_lot_of_many_bears_no_reading(lot: Lot, person: Staff, tester: ValveTester) -> None:
    with pytest.raises(Refused, match="a reading belongs to one valve"):
        stock.record_test(lot, a_reading(tester), person=person, at=MONDAY)


def test_the_last_reading_is_the_one_of_the_latest_day(lot: Lot, person: Staff, tester: ValveTester) -> None:
    (one,) = apart(lot, person, "V1")
    stock.record_test(one, a_reading(tester, "70"), person=person, at=MONDAY)
    stock.record_test(one, a_reading(tester, "85", tested_on=DAY - timedelta(days=9)), person=person, at=MONDAY)
    last = individual(one).last_test
    assert last is not None
    assert last.reading == "70"


def test_matched_valves_name_each_other_until_they_are_parted(lot: Lot, person: Staff) -> None:
    one, two, three = apart(lot, person, "V1", "V2", "V3")
    matched = stock.match([one, two], "72 and 71", person=person, at=MONDAY)
    assert [valve.mates for valve in shown([one, two, three])] == [("V2",), ("V1",), ()]
    assert list(matchable()) == [three]
    with pytest.raises(Refused, match="V1 is matched already"):
        stock.match([Lot.objects.get(pk=one.pk), three], "72", person=person, at=MONDAY)
    stock.part_set(matched, "V2 went weak", at=MONDAY)
    assert individual(Lot.objects.get(pk=one.pk)).mates == ()
    with pytest.raises(Stale, match="parted already"):
        stock.part_set(matched, "again", at=MONDAY)


def test_only_what_is_alike_apart_and_there_can_be_matched(lot: Lot, person: Staff) -> None:
    one, two = apart(lot, person)
    other = a_lot(a_part("50L6", "valve"), 1, at=MONDAY)
    (strange,) = apart(other, person, "W1")
    for lots, note, said in (
        ([one], "x", "Two valves at least"),
        ([one, lot], "x", "Set the valves apart under marks first."),
        ([one, strange], "x", "Valves of different types"),
        ([one, two], " ", "Say by what they are matched"),
    ):
        with pytest.raises(Refused, match=said):
            stock.match(lots, note, person=person, at=MONDAY)
    stock.scrap(two, drawer_of(two), 1, reason="gassy", person=person, at=MONDAY)
    with pytest.raises(Refused, match="isn't in a drawer any more"):
        stock.match([one, two], "72", person=person, at=MONDAY)


def test_untested_valves_are_told_while_they_can_go_back(lot: Lot, person: Staff, tester: ValveTester) -> None:
    assert to_be_tested(DAY) == [lot]
    (one,) = apart(lot, person, "V1")
    stock.record_test(one, a_reading(tester), person=person, at=MONDAY)
    assert to_be_tested(DAY) == [lot]
    assert to_be_tested(DAY + timedelta(days=15)) == []


def test_the_bench_is_offered_each_valve_with_its_reading_and_mates(
    lot: Lot, person: Staff, tester: ValveTester, colleague_client: Client
) -> None:
    one, two, _ = apart(lot, person, "V1", "V2", "V3")
    stock.record_test(one, a_reading(tester, "81"), person=person, at=MONDAY)
    stock.match([one, two], "81 and 80", person=person, at=MONDAY)
    place = position_of(a_job(Stage.REPAIRING), "V1")
    page = texts(colleague_client.get(reverse("jobs:position", args=[place.pk])))
    assert "81 <span" in page
    assert "with V2: they stay together." in page
    assert "never tested" in page


# The pages.


def test_a_valve_goes_through_the_pages(lot: Lot, colleague_client: Client) -> None:
    assert post(colleague_client, "inventory:tester_new", name="bench tester", calibrated_on="2026-01-05").status_code == 302
    page = colleague_client.get(reverse("inventory:set_apart", args=[lot.pk, drawer_of(lot).pk]))
    assert 'value="V1 V2 V3 V4"' in page.content.decode()
    assert post(colleague_client, "inventory:set_apart", lot.pk, drawer_of(lot).pk, marks="V1, V2").status_code == 302
    one, two = Lot.objects.exclude(mark="").order_by("pk")
    reading = {"tester": ValveTester.objects.get().pk, "tested_on": "2026-03-02", "reading": "9.8 mA", "verdict": "weak"}
    assert post(colleague_client, "inventory:valve_test", one.pk, percent="61", **reading).status_code == 302
    assert post(colleague_client, "inventory:match", lots=[one.pk, two.pk], note="within 2 %").status_code == 302
    listed = texts(colleague_client.get(reverse("inventory:valves")))
    for said in ("V1", "Weak", "9.8 mA, 61 % of new", "bench tester, calibrated", "within 2 %"):
        assert said in listed
    lot_page = texts(colleague_client.get(reverse("inventory:lot", args=[one.pk])))
    assert "set apart from lot" in lot_page
    assert post(colleague_client, "inventory:part_set", MatchedSet.objects.get().pk, reason="one is weak").status_code == 302


@pytest.fixture(autouse=True)
def _at_monday(still_clock: Any) -> None:
    return


def test_the_same_form_sent_twice_sets_apart_once(lot: Lot, colleague_client: Client) -> None:
    form, address = {"once": once(), "marks": "V1"}, reverse("inventory:set_apart", args=[lot.pk, drawer_of(lot).pk])
    for _ in range(2):
        assert colleague_client.post(address, form).status_code == 302
    assert lot.split_off.count() == 1


def test_bad_input_is_told_and_kept(lot: Lot, colleague_client: Client, person: Staff) -> None:
    answer = post(colleague_client, "inventory:set_apart", lot.pk, drawer_of(lot).pk, marks="V1 V1")
    assert answer.status_code == 422
    assert 'value="V1 V1"' in answer.content.decode()
    (one,) = apart(lot, person, "V1")
    answer = post(colleague_client, "inventory:valve_test", one.pk, reading="72", tested_on="soon", verdict="good", percent="900")
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"tester", "tested_on", "percent"}
    assert post(colleague_client, "inventory:match", lots=["x", "9" * 30], note="").status_code == 422
    assert post(colleague_client, "inventory:tester_new", name="t", calibrated_on="2036-01-01").status_code == 422


def test_two_correct_one_tester_and_the_second_is_told(tester: ValveTester, colleague_client: Client, lot: Lot) -> None:
    seen = stock.tester_seen(tester)
    typed = {"name": "the blue tester", "calibrated_on": "2026-01-05", "note": "", "in_use": "on", "seen": seen}
    stock.change_tester(tester, TesterFacts("the red tester"), today=DAY, seen=seen)
    answer = post(colleague_client, "inventory:tester_change", tester.pk, **typed)
    assert answer.status_code == 422
    assert "the red tester" in texts(answer)
    assert 'value="the blue tester"' in answer.content.decode()


def test_pictures_of_a_lot_are_kept_and_shown(lot: Lot, colleague_client: Client, stranger_client: Client) -> None:
    upload = SimpleUploadedFile("bag.png", a_picture(), "image/png")
    address = reverse("inventory:lot_photos", args=[lot.pk])
    assert colleague_client.post(address, {"once": once(), "photos": upload, "caption": "the bag"}).status_code == 302
    photo = LotPhoto.objects.get()
    assert "the bag" in texts(colleague_client.get(address))
    shown_at = reverse("inventory:lot_photo", args=[photo.pk])
    assert colleague_client.get(shown_at).headers["Content-Type"] == "image/jpeg"
    assert stranger_client.get(shown_at).status_code == 302
    bad = SimpleUploadedFile("bag.png", b"no picture", "image/png")
    assert colleague_client.post(address, {"once": once(), "photos": bad}).status_code == 422
    photo.image.delete(save=False)
    assert colleague_client.get(shown_at).status_code == 404


def test_the_list_asks_as_often_for_many_valves_as_for_one(
    lot: Lot, person: Staff, colleague_client: Client, django_assert_max_num_queries: Any, tester: ValveTester
) -> None:
    big = a_lot(lot.part, 45, a_drawer("V", "3"), at=MONDAY)
    for one in apart(big, person, *(f"B{n}" for n in range(45))):
        stock.record_test(one, a_reading(tester), person=person, at=MONDAY)
    with django_assert_max_num_queries(16):
        assert colleague_client.get(reverse("inventory:valves")).status_code == 200
