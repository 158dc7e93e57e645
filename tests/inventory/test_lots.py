"""Counting, moving, scrapping, sending back and blocking a lot, also when somebody else was faster."""

import threading
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Balance, Drawer, Lot, Movement
from shop.clock import now
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier
from tests.conftest import StillClock, signed_in
from tests.inventory.builders import errors_of, once, post, texts


@pytest.fixture
def drawer(db: None) -> Drawer:
    a_profile()
    return a_drawer()


@pytest.fixture
def lot(drawer: Drawer) -> Lot:
    return a_lot(drawer=drawer, supplier=a_supplier())


def in_drawer(lot: Lot, drawer: Drawer) -> int:
    return Balance.objects.get(lot=lot, drawer=drawer).on_hand


def last(lot: Lot) -> Movement:
    return Movement.objects.filter(lot=lot).latest("pk")


def test_a_count_that_differs_is_booked_with_its_reason(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    answer = post(colleague_client, "inventory:count", lot.pk, drawer.pk, counted="8", shown="10", reason="two fell through")
    assert answer.status_code == 302
    assert (last(lot).kind, last(lot).count, last(lot).reason) == ("counted", -2, "two fell through")
    assert in_drawer(lot, drawer) == 8


def test_a_count_that_agrees_moves_nothing_and_needs_no_reason(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    assert post(colleague_client, "inventory:count", lot.pk, drawer.pk, counted="10", shown="10").status_code == 302
    assert lot.movements.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"counted": "8"}, "reason", "That is 2 fewer than the ledger says. Count once more, or say why it differs."),
        ({"counted": "-1", "reason": "x"}, "counted", "The count must be from 0 to 100,000."),
        ({"counted": "100001", "reason": "x"}, "counted", "The count must be from 0 to 100,000."),
        ({"counted": "few", "reason": "x"}, "counted", "Enter a whole number."),
        ({"counted": ""}, "counted", "This field is required."),
    ],
)
def test_a_bad_count_is_refused(
    typed: dict[str, str], field: str, text: str, lot: Lot, drawer: Drawer, colleague_client: Client
) -> None:
    answer = post(colleague_client, "inventory:count", lot.pk, drawer.pk, shown="10", **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert in_drawer(lot, drawer) == 10


def test_parts_held_for_jobs_cannot_be_counted_away(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    services.hold(lot, drawer, 4, reference="J-1", person=a_staff(), at=now())
    answer = post(colleague_client, "inventory:count", lot.pk, drawer.pk, counted="3", shown="10", reason="miscounted")
    assert errors_of(answer)["counted"] == [
        "4 of these are held for jobs, so the drawer can't be counted down to 3. Let a hold go first."
    ]


def test_a_count_made_while_somebody_took_one_is_asked_for_again(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    services.take(lot, drawer, 1, reference="J-2026-0004", person=a_staff("other"), at=now())
    typed = {"counted": "10", "reason": "found one behind the tray"}
    answer = post(colleague_client, "inventory:count", lot.pk, drawer.pk, shown="10", **typed)
    assert answer.status_code == 422
    assert errors_of(answer)["__all__"] == ["While you counted, the drawer went from 10 to 9. Count once more and send again."]
    page = answer.content.decode()
    assert 'name="shown" value="9"' in page
    assert "found one behind the tray" in page
    assert in_drawer(lot, drawer) == 9
    assert post(colleague_client, "inventory:count", lot.pk, drawer.pk, shown="9", **typed).status_code == 302
    assert in_drawer(lot, drawer) == 10


def test_parts_move_to_another_drawer(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    other = a_drawer("B", "7")
    answer = post(colleague_client, "inventory:transfer", lot.pk, drawer.pk, count="4", target="b/7", reason="tray is full")
    assert answer.status_code == 302
    assert (in_drawer(lot, drawer), in_drawer(lot, other)) == (6, 4)
    assert [(move.kind, move.count, move.reason) for move in lot.movements.all()[1:]] == [
        ("moved_out", -4, "to B / 7: tray is full"),
        ("moved_in", 4, "from A / 1: tray is full"),
    ]


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"count": "4", "target": "A / 1"}, "target", "Both drawers are the same one."),
        (
            {"count": "4", "target": "Q"},
            "target",
            "There is no drawer “Q”. Check the code on its label, or make the drawer first.",
        ),
        ({"count": "0", "target": "B / 7"}, "count", "The count must be at least 1."),
        ({"count": "-4", "target": "B / 7"}, "count", "The count must be at least 1."),
    ],
)
def test_a_bad_move_is_refused(
    typed: dict[str, str], field: str, text: str, lot: Lot, drawer: Drawer, colleague_client: Client
) -> None:
    a_drawer("B", "7")
    answer = post(colleague_client, "inventory:transfer", lot.pk, drawer.pk, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert lot.movements.count() == 1


@pytest.mark.parametrize(("name", "kind"), [("scrap", "scrapped"), ("send_back", "sent_back")])
def test_parts_leave_with_a_reason_and_once(name: str, kind: str, lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    form = {"once": once(), "count": "3", "reason": "leaky out of the bag"}
    for _ in range(2):
        url = reverse(f"inventory:{name}", args=[lot.pk, drawer.pk])
        assert colleague_client.post(url, form).status_code == 302
    assert (last(lot).kind, last(lot).count, last(lot).reason) == (kind, -3, "leaky out of the bag")
    assert in_drawer(lot, drawer) == 7


@pytest.mark.parametrize("name", ["scrap", "send_back"])
@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"count": "2", "reason": ""}, "reason", "This field is required."),
        ({"count": "2", "reason": "   "}, "reason", "This field is required."),
        ({"count": "0", "reason": "x"}, "count", "The count must be at least 1."),
        ({"count": "-2", "reason": "x"}, "count", "The count must be at least 1."),
        ({"count": "1e3", "reason": "x"}, "count", "Enter a whole number."),
    ],
)
def test_a_bad_leaving_is_refused(
    name: str, typed: dict[str, str], field: str, text: str, lot: Lot, drawer: Drawer, colleague_client: Client
) -> None:
    answer = post(colleague_client, f"inventory:{name}", lot.pk, drawer.pk, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]


def test_who_took_the_last_one_is_named(drawer: Drawer, colleague_client: Client) -> None:
    lot = a_lot(count=1, drawer=drawer)
    taker = a_staff("other", shown_name="Orla Quillfeather")
    services.take(lot, drawer, 1, reference="J-2026-0009", person=taker, at=now())
    answer = post(colleague_client, "inventory:scrap", lot.pk, drawer.pk, count="1", reason="bent lead")
    assert errors_of(answer)["__all__"] == [
        "Drawer A / 1 has 0 of 0.01 µF 630 V film, and 1 is wanted. The last to take from it was Orla Quillfeather "
        "for J-2026-0009. Choose another lot or drawer, or take one from the buy list."
    ]
    assert "bent lead" in answer.content.decode()


def test_what_is_held_for_a_job_is_not_taken_by_another_act(lot: Lot, drawer: Drawer, colleague_client: Client) -> None:
    services.hold(lot, drawer, 9, reference="J-1", person=a_staff(), at=now())
    answer = post(colleague_client, "inventory:scrap", lot.pk, drawer.pk, count="2", reason="x")
    assert "9 of them held for other jobs" in errors_of(answer)["__all__"][0]


def test_nothing_goes_back_to_nobody(drawer: Drawer, colleague_client: Client) -> None:
    lot = a_lot(drawer=drawer)
    answer = post(colleague_client, "inventory:send_back", lot.pk, drawer.pk, count="1", reason="wrong value")
    assert errors_of(answer)["__all__"] == [
        "No supplier is written down for this lot, so it can't go back to one. Scrap it instead."
    ]


def test_a_closed_window_is_pointed_out_before_sending(
    lot: Lot, drawer: Drawer, colleague_client: Client, still_clock: StillClock
) -> None:
    url, warning = reverse("inventory:send_back", args=[lot.pk, drawer.pk]), "The supplier's window for this lot is not open."
    lot.return_until_on = still_clock.now.date()
    lot.save()
    assert warning.replace("'", "&#x27;") not in texts(colleague_client.get(url))
    still_clock.forward(days=1)
    assert warning.replace("'", "&#x27;") in texts(colleague_client.get(url))


def test_the_owner_blocks_a_lot_and_lets_it_go(lot: Lot, owner_client: Client) -> None:
    assert post(owner_client, "inventory:block", lot.pk, reason="forged date codes").status_code == 302
    assert "Nothing of this lot is fitted: forged date codes" in texts(owner_client.get(reverse("inventory:lot", args=[lot.pk])))
    assert post(owner_client, "inventory:unblock", lot.pk).status_code == 302
    lot.refresh_from_db()
    assert lot.blocked_reason == ""


def test_a_lot_is_not_blocked_without_a_reason(lot: Lot, owner_client: Client) -> None:
    answer = post(owner_client, "inventory:block", lot.pk, reason=" ")
    assert answer.status_code == 422
    lot.refresh_from_db()
    assert lot.blocked_reason == ""


def test_the_lot_says_which_jobs_it_went_into_less_what_came_out_again(
    lot: Lot, drawer: Drawer, colleague_client: Client
) -> None:
    person, at = a_staff(), now()
    services.take(lot, drawer, 2, reference="J-2026-0001", person=person, at=at)
    fitted = services.take(lot, drawer, 3, reference="J-2026-0002", person=person, at=at)
    services.put_back(fitted, reason="wrong place", reference="J-2026-0002", person=person, at=at)
    went = colleague_client.get(reverse("inventory:lot", args=[lot.pk])).context["went"]
    assert [(into.reference, into.count) for into, _ in went] == [("J-2026-0001", 2)]


def test_the_ledger_is_narrowed_by_what_where_and_who(lot: Lot, drawer: Drawer, owner_client: Client) -> None:
    services.scrap(lot, drawer, 1, reason="cracked", person=a_staff("other"), at=now())
    other = a_lot(a_part("100 pF 500 V", technology="mica"), drawer=a_drawer("B", "2"))

    def lines(**asked: str) -> int:
        return len(owner_client.get(reverse("inventory:movements"), asked).context["table"].rows)

    assert lines() == 3
    assert lines(kind="scrapped") == 1
    assert lines(q="100 MMF") == 1
    assert lines(drawer="b / 2") == 1
    assert lines(drawer="A") == 2
    assert lines(person=str(a_staff("other").pk)) == 1
    assert lines(since="2000-01-01", until="2000-01-02") == 0
    assert lines(q="9" * 300, drawer="%", reference="' OR 1=1") == 0
    assert other.movements.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_who_take_the_last_one_at_once_one_gets_it() -> None:
    """Two browsers, one part: the never-negative rule holds and the slower is told."""
    a_profile()
    drawer = a_drawer()
    lot = a_lot(count=1, drawer=drawer)
    clients = [signed_in(a_staff(name)) for name in ("first", "second")]
    answers: list[Any] = []

    def scrap(client: Client) -> None:
        answers.append(post(client, "inventory:scrap", lot.pk, drawer.pk, count="1", reason="bent lead").status_code)
        connection.close()

    threads = [threading.Thread(target=scrap, args=[client]) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [302, 422]
    assert in_drawer(lot, drawer) == 0
