"""What was just done and can be undone carries a button that undoes it, by the service there is for that."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Balance, MatchedSet
from jobs.models import LabourEntry, LogEntry, Stage, Timer
from jobs.queries.sheet import position_state
from shop.clock import now
from shop.models import Staff
from tests import builders as make
from tests.conftest import signed_in
from tests.inventory.orders import a_sent_order, draft_line, line_of

pytestmark = pytest.mark.django_db


def send(client: Client, name: str, pk: int | list[int], **typed: Any) -> str:
    address = reverse(name, args=pk if isinstance(pk, list) else [pk])
    answer = client.post(address, {"once": str(uuid4()), **typed}, follow=True)
    assert answer.status_code == 200, answer.content.decode()[:2000]
    return answer.content.decode()


def undo(client: Client, page: str) -> str:
    """Press the button of the note that can be undone, as it stands on the page."""
    note = page.split("message-undo", 1)[1].split("</form>", 1)[0]
    action = re.search(r'action="([^"]+)"', note)[1]
    typed = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', note))
    typed.pop("csrfmiddlewaretoken", None)
    assert "once" in typed
    answer = client.post(action, typed, follow=True)
    assert answer.status_code == 200, answer.content.decode()[:2000]
    return answer.content.decode()


@pytest.fixture
def bench(colleague: Staff) -> Client:
    return signed_in(colleague)


class TestAtTheBench:
    def test_a_reading_is_taken_back_and_stays_readable(self, bench: Client) -> None:
        job = make.a_job(Stage.INSPECTING)
        place = make.position_of(job, "R1")
        page = send(bench, "jobs:entry_measured", place.pk, measured="260K", seen=position_state(place).last_seq)
        assert position_state(place).readings
        undo(bench, page)
        assert not position_state(place).readings
        assert LogEntry.objects.filter(position=place, text__contains="260").exists()

    def test_a_note_on_the_set_is_taken_back(self, bench: Client) -> None:
        job = make.a_job(Stage.INSPECTING)
        page = send(bench, "jobs:job_note", job.pk, kind="note", text="Smells of mice.")
        assert "is taken back; it stays readable in the log." in undo(bench, page)

    def test_a_clock_is_taken_off_without_logging_time(self, bench: Client) -> None:
        job = make.a_job(Stage.REPAIRING)
        page = send(bench, "jobs:clock_start", job.pk, step="repair")
        assert Timer.objects.exists()
        undo(bench, page)
        assert not Timer.objects.exists()
        assert not LabourEntry.objects.exists()

    def test_fitting_a_part_offers_no_quick_undo(self, bench: Client, colleague: Staff) -> None:
        """Taking a part out again is an act of its own: it asks where the part goes."""
        job = make.a_job(Stage.REPAIRING)
        place = make.position_of(job, "C2")
        hold = position_state(place).decided.hold
        offer = f"{hold.lot_id}:{Balance.objects.get(lot=hold.lot).drawer_id}"
        page = send(bench, "jobs:entry_fit", place.pk, offer=offer, count=1, seen=position_state(place).last_seq)
        assert "message-success" in page
        assert "message-undo" not in page


class TestInTheDrawers:
    def test_parts_that_were_moved_go_back(self, bench: Client) -> None:
        make.a_profile()
        lot, other = make.a_lot(), make.a_drawer("Z", "9")
        first = Balance.objects.get(lot=lot)
        page = send(bench, "inventory:transfer", [lot.pk, first.drawer_id], count=2, target=other.code)
        assert Balance.objects.get(lot=lot, drawer=other).on_hand == 2
        undo(bench, page)
        before, first_now = first.on_hand, Balance.objects.get(lot=lot, drawer=first.drawer)
        assert first_now.on_hand == before

    def test_a_block_is_lifted(self, owner_client: Client) -> None:
        make.a_profile()
        lot = make.a_lot()
        undo(owner_client, send(owner_client, "inventory:block", lot.pk, reason="leaky out of the bag"))
        lot.refresh_from_db()
        assert lot.blocked_reason == ""

    def test_what_was_given_up_is_waited_for_again(self, counter_client: Client) -> None:
        make.a_profile()
        line = line_of(a_sent_order(draft_line(make.a_part(), 20, 30_000)))
        address = reverse("inventory:order_line_drop", args=[line.pk])
        seen = counter_client.get(address).context["form"].initial["seen"]
        page = send(counter_client, "inventory:order_line_drop", line.pk, count=5, reason="sold out", seen=seen)
        undo(counter_client, page)
        line.refresh_from_db()
        assert line.dropped_count == 0

    def test_a_matched_set_is_parted(self, bench: Client, colleague: Staff) -> None:
        make.a_profile()
        lot, at = make.a_lot(make.a_part("12SK7", "valve")), now()
        pair = services.set_apart(lot, make.drawer_of(lot), services.next_marks(2), person=colleague, at=at)
        page = send(bench, "inventory:match", [], lots=[one.pk for one in pair], note="within 2 %")
        undo(bench, page)
        assert MatchedSet.objects.get().parted_at is not None
