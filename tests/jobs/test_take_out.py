"""Taking a fitted part out again: back to its drawer or scrapped, with a reason, and the drawer agrees with the log."""

from django.test import Client

from inventory.models import MovementKind
from jobs.models import Stage
from jobs.queries.exposure import exposure_of
from jobs.services import log
from shop.models import Staff
from tests.builders import a_fit, a_job, author
from tests.jobs.at_bench import enter, state_of


def test_it_goes_back_to_the_lot_and_drawer_it_came_from(colleague_client: Client) -> None:
    entry = a_fit(a_job(Stage.REPAIRING))
    before = entry.lot.balances.get().on_hand
    enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="wrong value", where="drawer")
    assert state_of(entry.position).fitted == []
    assert entry.lot.balances.get().on_hand == before + 1
    out = state_of(entry.position).last_entry
    assert (out.takes_out, out.note, out.scrapped) == (entry, "wrong value", False)


def test_a_scrapped_one_doesnt_come_back(colleague_client: Client) -> None:
    entry = a_fit(a_job(Stage.REPAIRING))
    before = entry.lot.balances.get().on_hand
    enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="lead broke off", where="scrap")
    assert entry.lot.balances.get().on_hand == before
    assert entry.lot.movements.filter(kind=MovementKind.SCRAPPED, reason="lead broke off").count() == 1
    assert state_of(entry.position).last_entry.scrapped


def test_it_costs_the_customer_nothing_any_more(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING)
    entry = a_fit(job)
    enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="wrong value", where="drawer")
    assert exposure_of(job, log.profile()).spent_minor == 0


def test_it_needs_a_reason_and_a_place(colleague_client: Client) -> None:
    entry = a_fit(a_job(Stage.REPAIRING))
    assert enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason=" ", where="drawer").status_code == 422
    assert enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="hums", where="pocket").status_code == 422
    assert state_of(entry.position).fitted == [entry]


def test_what_somebody_took_out_already_is_told(colleague_client: Client, owner: Staff) -> None:
    entry = a_fit(a_job(Stage.REPAIRING))
    log.take_out(entry, "hums", author(owner), scrap=False)
    answer = enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="wrong value", where="drawer")
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "is no longer in C2: somebody took it out already. Load the sheet again." in text
    assert "wrong value" in text


def test_both_entries_stay_in_the_history(colleague_client: Client) -> None:
    entry = a_fit(a_job(Stage.REPAIRING))
    enter(colleague_client, entry.position, "take_out", entry=entry.pk, reason="wrong value", where="drawer")
    lines = state_of(entry.position).history
    assert [line.entry.kind for line in lines][-2:] == ["fitted", "taken_out"]
    assert lines[-2].taken_out_by == lines[-1].entry
