"""Fitting a part out of a drawer: what is offered, what is written, and every refusal with the way out of it."""

from threading import Barrier, Thread

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from inventory import services as stock
from inventory.models import Movement
from jobs.models import Job, LogEntry, Position, Stage
from jobs.queries.candidates import candidates_for
from jobs.services import log
from shop.acts import Refused
from shop.clock import now
from shop.models import Role, Staff
from tests.builders import a_drawer, a_fit, a_job, a_lot, a_part, a_staff, a_supplier, author, drawer_of, plan_part, position_of
from tests.conftest import signed_in
from tests.jobs.at_bench import a_resistor, enter, offer_of, state_of


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING)


def page_of(client: Client, place: Position) -> str:
    return client.get(reverse("jobs:position", args=[place.pk])).content.decode()


def test_the_offer_names_drawer_lot_price_and_reasons(colleague_client: Client, job: Job) -> None:
    a_lot(a_resistor(45), 7, drawer=a_drawer("R", "22"), supplier=a_supplier(), date_code="2411")
    text = page_of(colleague_client, position_of(job, "R1"))
    for words in (
        "220 kΩ 1 W carbon film",
        "Drawer R / 22",
        "7 free",
        "£0.45 each",
        "Ferrule &amp; Daughters",
        "2411",
        "Will do",
        "Fit this one",
    ):
        assert words in text


def test_the_best_comes_first_and_what_wont_do_is_folded_with_its_reason(job: Job) -> None:
    low = a_lot(a_part("0.01 µF 160 V"))
    off = a_lot(a_part("0.012 µF 630 V"))
    good = a_lot(a_part("0.01 µF 630 V"))
    found = [one for one in candidates_for(state_of(position_of(job, "C2")), job) if one.lot in (low, off, good)]
    assert found[0].lot == good
    assert found[-1].lot == low
    assert found[-1].answer.answer == "no"
    assert all(one.answer.reasons and all(reason.source for reason in one.answer.reasons) for one in found)


def test_fitting_writes_the_log_and_moves_the_stock_in_one_act(colleague_client: Client, colleague: Staff, job: Job) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor(45), 7)
    assert enter(colleague_client, place, "fit", offer=offer_of(lot), note="lead dressed away").status_code == 302
    entry = state_of(place).fitted[0]
    assert (entry.lot, entry.movement.count, entry.unit_price_minor, entry.part_class) == (lot, -1, 45, "new")
    assert (entry.person, entry.note, entry.answer) == (colleague, "lead dressed away", "yes")
    assert lot.balances.get().on_hand == 6


def test_the_part_that_is_held_for_the_place_is_offered_and_used_up(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING, with_fit=False)
    plan_part(job, "R1", part=a_resistor(45))
    held = state_of(position_of(job, "R1")).decided.hold
    stock.scrap(held.lot, held.drawer, 9, reason="dropped", person=a_staff(), at=now())
    place = position_of(job, "R1")
    assert "held for this place" in page_of(colleague_client, place)
    assert enter(colleague_client, place, "fit", offer=f"{held.lot_id}:{held.drawer_id}").status_code == 302
    balance = held.lot.balances.get()
    assert (balance.on_hand, balance.held) == (0, 0)


def test_a_part_of_another_lot_lets_the_hold_go(job: Job) -> None:
    other = a_lot(a_part("0.01 µF 630 V"))
    held = state_of(position_of(job, "C2")).decided.hold
    log.fit(position_of(job, "C2"), log.Fit(other, drawer_of(other)), author())
    held.refresh_from_db()
    assert not held.is_open


def test_nobody_fits_before_the_set_is_on_the_bench(colleague_client: Client) -> None:
    job = a_job(Stage.INSPECTING)
    place, lot = position_of(job, "R1"), a_lot(a_resistor())
    assert "Fit this one" not in page_of(colleague_client, place)
    answer = enter(colleague_client, place, "fit", offer=offer_of(lot))
    assert answer.status_code == 422
    assert f"Parts are fitted while the set is on the bench; job {job.number} is at “On inspection”." in answer.content.decode()


def test_a_blocked_lot_is_neither_offered_nor_fitted(colleague_client: Client, job: Job) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor())
    offer = offer_of(lot)
    stock.block_lot(lot, "two of them were open")
    assert "220 kΩ 1 W" not in page_of(colleague_client, place)
    answer = enter(colleague_client, place, "fit", offer=offer)
    assert "This lot is blocked: two of them were open. Choose a part of another lot." in answer.content.decode()
    assert not state_of(place).fitted


@pytest.mark.parametrize("count", ["0", "-1", "21", "many", ""])
def test_an_absurd_count_is_refused(colleague_client: Client, job: Job, count: str) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor(), 50)
    assert enter(colleague_client, place, "fit", offer=offer_of(lot), count=count).status_code == 422
    assert not state_of(place).fitted


@pytest.mark.parametrize("offer", ["", "7", "7:x", "999999:1", "99999999999999999:99999999999999999"])
def test_an_offer_that_names_nothing_is_refused(colleague_client: Client, job: Job, offer: str) -> None:
    assert enter(colleague_client, position_of(job, "R1"), "fit", offer=offer).status_code == 422


def test_above_the_ceiling_it_is_refused_with_a_way_to_revise(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING, labour_minor=0)
    place, lot = position_of(job, "R1"), a_lot(a_resistor(900))
    answer = enter(colleague_client, place, "fit", offer=offer_of(lot), note="kept on the page")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "£0.60 is agreed" in text
    assert "with this part the job would stand at £9.00" in text
    assert f'href="{reverse("jobs:estimate", args=[job.pk])}"' in text
    assert 'value="kept on the page"' in text
    assert lot.balances.get().on_hand == 10


def test_above_the_ceiling_it_may_be_fitted_as_not_charged(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING, labour_minor=0)
    place, lot = position_of(job, "R1"), a_lot(a_resistor(900))
    enter(colleague_client, place, "fit", offer=offer_of(lot), not_charged="my own slip")
    entry = state_of(place).fitted[0]
    assert (entry.charged, entry.not_charged_reason, entry.price_minor) == (False, "my own slip", 0)


def test_two_stale_pages_want_the_last_part_and_both_learn_what_happened(
    colleague_client: Client, colleague: Staff, owner_client: Client, owner: Staff
) -> None:
    first, second = a_job(Stage.REPAIRING), a_job(Stage.REPAIRING)
    lot = a_lot(a_resistor(), 1)
    offer = offer_of(lot)
    mine = enter(colleague_client, position_of(first, "R1"), "fit", offer=offer)
    assert "R1: fitted: 220 kΩ 1 W carbon film." in colleague_client.get(mine.headers["Location"]).content.decode()
    late = enter(owner_client, position_of(second, "R1"), "fit", offer=offer, note="for the owner's set")
    text = late.content.decode()
    assert late.status_code == 422
    assert f"The last to take from it was Benno Tarnwick for {first.number}." in text
    assert escape("for the owner's set") in text
    assert lot.balances.get().on_hand == 0


@pytest.mark.django_db(transaction=True)
def test_two_people_take_the_last_part_at_once_and_one_gets_it() -> None:
    jobs = [a_job(Stage.REPAIRING), a_job(Stage.REPAIRING)]
    people = [a_staff("one", Role.BENCH), a_staff("two", Role.BENCH)]
    lot = a_lot(a_resistor(), 1)
    drawer, start = drawer_of(lot), Barrier(2)
    told: list[str] = []

    def fit(job: Job, person: Staff) -> None:
        start.wait()
        try:
            log.fit(position_of(job, "R1"), log.Fit(lot, drawer), log.Author(person, now()))
        except Refused as refused:
            told.append(refused.message)
        finally:
            connection.close()

    threads = [Thread(target=fit, args=pair) for pair in zip(jobs, people, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(told) == 1
    assert "The last to take from it was" in told[0]
    assert LogEntry.objects.filter(lot=lot, kind="fitted").count() == 1
    assert Movement.objects.filter(lot=lot, kind="fitted").count() == 1
    assert lot.balances.get().on_hand == 0


def test_a_customers_own_part_goes_through_a_drawer(colleague_client: Client, job: Job) -> None:
    assert "the customer brought it" in page_of(colleague_client, position_of(job, "V1"))


def test_the_counter_fits_nothing(counter: Staff, job: Job) -> None:
    lot = a_lot(a_resistor())
    assert enter(signed_in(counter), position_of(job, "R1"), "fit", offer=offer_of(lot)).status_code == 403


def test_a_second_part_may_stand_beside_the_first(colleague_client: Client, job: Job) -> None:
    a_fit(job, "C2")
    lot = a_lot(a_part("0.01 µF 630 V"))
    enter(colleague_client, position_of(job, "C2"), "fit", offer=offer_of(lot))
    assert len(state_of(position_of(job, "C2")).fitted) == 2
