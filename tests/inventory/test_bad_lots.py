"""A lot turns out bad: nothing of it is fitted, its relatives are named, and it is lifted with a reason."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services as stock
from inventory.models import BadLot, Lot
from inventory.queries.bad_lots import found_together, lying_of, suspects_of
from inventory.services.bad_lots import Finding, find_bad, lift
from inventory.verification import bad_lots
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Staff
from tests.builders import a_drawer, a_lot, a_part, a_profile, a_staff, a_supplier, drawer_of
from tests.conftest import MONDAY, StillClock
from tests.inventory.builders import errors_of, post, texts

pytestmark = pytest.mark.django_db
LEAKS = Finding("leaks at half its voltage", "it may burn", "pull the plug", "J-2026-0001")


def bad(lot: Lot, person: Staff | None = None, also: tuple[Lot, ...] = ()) -> BadLot:
    return find_bad(lot, LEAKS, person=person or a_staff(), at=now(), also=also)


def apart(lot: Lot, count: int = 2) -> list[Lot]:
    return stock.set_apart(lot, drawer_of(lot), stock.next_marks(count), person=a_staff(), at=now())


class TestFinding:
    def test_blocks_what_lies_free_and_what_is_held(self) -> None:
        lot, who = a_lot(count=5), a_staff()
        held = stock.hold(lot, drawer_of(lot), 2, reference="J-2026-0009", person=who, at=MONDAY)
        bad(lot)
        for hold in (None, held):
            with pytest.raises(Refused, match="This lot is blocked: leaks at half its voltage. Choose a part of another lot."):
                stock.take(lot, drawer_of(lot), 2, reference="J-2026-0009", person=who, at=MONDAY, hold=hold)
        with pytest.raises(Refused, match="This lot is blocked"):
            stock.hold(lot, drawer_of(lot), 1, reference="J-2026-0010", person=who, at=MONDAY)
        left = lying_of([lot])
        assert (left.on_hand, left.held, left.references) == (5, 2, ["J-2026-0009"])

    def test_wants_a_reason_and_happens_once(self) -> None:
        lot = a_lot()
        with pytest.raises(Refused, match="Say what is wrong with it, in a few words."):
            find_bad(lot, Finding("  "), person=a_staff(), at=MONDAY)
        bad(lot)
        with pytest.raises(Refused, match=f"Lot {lot.pk} was found bad already: leaks at half its voltage."):
            bad(lot)

    def test_names_its_family_and_those_of_the_same_date_code(self) -> None:
        valve, supplier = a_part("EL84", "valve"), a_supplier()
        facts = {"supplier": supplier, "date_code": "7K3"}
        parent = a_lot(valve, **facts)
        one, two = apart(parent)
        same, other = a_lot(valve, **facts), a_lot(valve, supplier=supplier, date_code="8A1")
        told = {suspect.lot: suspect.why for suspect in suspects_of(one)}
        assert told[parent] == "the one it was set apart from"
        assert told[two] == "set apart from the same parts"
        assert told[same].startswith("the same part, supplier and date code 7K3, in on ")
        assert other not in told

    def test_takes_relatives_along_in_one_act_and_no_strangers(self) -> None:
        parent = a_lot(a_part("EL84", "valve"))
        one, two = apart(parent)
        found = bad(one, also=(parent, two))
        assert [each.lot for each in found_together(found)] == [one, parent, two]
        assert not Lot.objects.filter(pk__in=[parent.pk, one.pk, two.pk], blocked_reason="").exists()
        with pytest.raises(Refused, match="is no relative of this lot, or was found bad already"):
            bad(a_lot(), also=(parent,))


class TestLifting:
    def test_lets_all_of_the_act_be_fitted_again_and_what_was_set_apart_meanwhile(self, owner: Staff) -> None:
        parent = a_lot(a_part("EL84", "valve"))
        (one,) = apart(parent, 1)
        found = bad(parent, also=(one,))
        (later,) = apart(parent, 1)
        assert later.blocked_reason == LEAKS.why
        assert len(lift(found, "a joint of the jig was dry", person=owner, at=now())) == 2
        assert not Lot.objects.exclude(blocked_reason="").exists()
        assert bad_lots().differences == ()

    def test_leaves_a_block_of_before(self, owner: Staff) -> None:
        lot = a_lot()
        stock.block_lot(lot, "fakes")
        lot.refresh_from_db()
        lift(bad(lot), "sound", person=owner, at=now())
        lot.refresh_from_db()
        assert lot.blocked_reason == "fakes"

    def test_is_the_owners_and_on_the_same_day_the_finders(self, still_clock: StillClock, owner: Staff, colleague: Staff) -> None:
        found = bad(a_lot(), colleague)
        with pytest.raises(Refused, match="Only the owner lets a bad lot be fitted again"):
            lift(found, "sound", person=a_staff("another"), at=now())
        with pytest.raises(Refused, match="Only the owner"):
            lift(found, "sound", person=colleague, at=now() + timedelta(days=1))
        lift(found, "the wrong bag", person=colleague, at=now())
        with pytest.raises(Refused, match="This was lifted already"):
            lift(found, "sound", person=owner, at=now())

    def test_is_refused_in_sight_of_an_older_state(self, owner: Staff) -> None:
        found = bad(a_lot())
        with pytest.raises(Stale):
            lift(found, "sound", person=owner, at=now(), seen=7)

    def test_is_the_only_way_out(self, owner_client: Client) -> None:
        lot = a_lot()
        bad(lot)
        with pytest.raises(Refused, match="Lift that on the bad lot's page"):
            stock.block_lot(lot, "")
        Lot.objects.filter(pk=lot.pk).update(blocked_reason="")
        assert bad_lots().differences == (f"lot {lot.pk} was found bad and isn't blocked",)


class TestThePage:
    def test_finds_it_bad_once_and_offers_the_way_back(self, owner_client: Client, colleague_client: Client) -> None:
        a_profile()
        lot = a_lot(supplier=a_supplier(), date_code="7K3")
        same = a_lot(lot.part, supplier=lot.supplier, date_code="7k3", drawer=a_drawer("B", "1"))
        page = texts(colleague_client.get(reverse("inventory:bad_lot_new", args=[lot.pk]), {"job": "J-2026-0001"}))
        assert 'value="J-2026-0001"' in page
        assert "the same part, supplier and date code 7k3" in page
        typed = {"once": "5f0c5c1e-8c4e-4a39-9a0e-4b1f7e0e0001", "why": "leaks", "also": [same.pk]}
        for _ in range(2):
            done = colleague_client.post(reverse("inventory:bad_lot_new", args=[lot.pk]), typed)
        first = BadLot.objects.get(lot=lot)
        assert done["Location"] == reverse("jobs:bad_lot", args=[first.pk])
        assert BadLot.objects.count() == 2
        assert "Take it back" in texts(colleague_client.get(done["Location"]))
        assert colleague_client.get(reverse("inventory:bad_lot_new", args=[lot.pk]))["Location"] == done["Location"]
        lifted = post(colleague_client, "inventory:bad_lot_lift", first.pk, why="the wrong bag", seen="1")
        assert lifted.status_code == 302
        assert not BadLot.objects.filter(lifted_at=None).exists()

    def test_keeps_what_was_typed_where_it_is_refused(self, owner_client: Client) -> None:
        a_profile()
        lot = a_lot()
        answer = post(owner_client, "inventory:bad_lot_new", lot.pk, why="", danger="it may burn", also="77")
        assert answer.status_code == 422
        assert errors_of(answer)["why"] == ["This field is required."]
        assert "it may burn" in texts(answer)

    def test_is_the_benchs(self, counter_client: Client) -> None:
        assert post(counter_client, "inventory:bad_lot_new", a_lot().pk, why="x").status_code == 403
