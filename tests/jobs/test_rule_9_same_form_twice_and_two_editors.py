"""Rule 9 at the bench: the same form sent twice acts once; of two editors the second is told, and nothing is lost."""

from django.test import Client
from django.urls import reverse

from inventory.models import Movement
from jobs.models import Stage
from jobs.services import log
from shop.models import Staff
from tests.builders import a_job, a_lot, author, position_of
from tests.jobs.at_bench import enter, offer_of, state_of, token
from tests.jobs.sent import sent_form


def test_the_same_entry_sent_twice_is_written_once(colleague_client: Client) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    once = token()
    for _ in range(2):
        answer = enter(colleague_client, place, "measured", once=once, measured="310K")
        assert answer.status_code == 302
    assert place.entries.filter(kind="measured").count() == 1
    assert "That form had already been sent" in colleague_client.get(answer.headers["Location"]).content.decode()


def test_the_same_fitting_sent_twice_takes_one_part(colleague_client: Client) -> None:
    place, lot = position_of(a_job(Stage.REPAIRING), "C2"), a_lot(count=5)
    once = token()
    for _ in range(2):
        enter(colleague_client, place, "fit", once=once, offer=offer_of(lot))
    assert Movement.objects.filter(lot=lot, kind="fitted").count() == 1
    assert lot.balances.get().on_hand == 4


def test_a_form_without_its_token_acts_not_at_all(colleague_client: Client) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    assert enter(colleague_client, place, "measured", once="", measured="310K").status_code == 422
    assert not place.entries.exists()


def test_the_second_editor_is_told_by_whom_and_keeps_the_text(colleague_client: Client, owner: Staff) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    log.record_measured(place, "250K", author(owner))
    answer = enter(colleague_client, place, "measured", seen=0, measured="310K")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Since you opened R1, Orla Quillfeather wrote “measured: 250K”." in text
    assert 'value="310K"' in text
    assert state_of(place).measured.text == "250K"


def test_having_seen_it_the_second_editor_sends_again(colleague_client: Client, owner: Staff) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    log.record_measured(place, "250K", author(owner))
    refused = enter(colleague_client, place, "measured", seen=0, measured="310K")
    again = colleague_client.post(reverse("jobs:entry_measured", args=[place.pk]), sent_form(refused, "measured"))
    assert again.status_code == 302
    assert [entry.text for entry in place.entries.order_by("seq")] == ["250K", "310K"]


def test_every_entry_written_meanwhile_is_told_not_only_the_last(
    colleague_client: Client, colleague: Staff, owner: Staff
) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    log.record_found(place, "270K", author(owner))
    log.record_note(place.job, "mine", author(colleague), position=place)
    answer = enter(colleague_client, place, "decide", seen=0, decision="replace")
    assert "Orla Quillfeather wrote “found: 270K”" in answer.content.decode()


def test_ones_own_entries_from_another_tab_dont_stop_one(colleague_client: Client) -> None:
    place = position_of(a_job(Stage.REPAIRING), "R1")
    enter(colleague_client, place, "found", seen=0, found="220K")
    assert enter(colleague_client, place, "measured", seen=0, measured="310K").status_code == 302
