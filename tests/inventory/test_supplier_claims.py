"""Parts are claimed back from their supplier: windows, counts, steps and what takes a slip back."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services as stock
from inventory.models import Lot, MovementKind, Supplier, SupplierClaim
from inventory.queries.supplier_claims import (
    claimable_count,
    cover_of,
    credited_minor_of,
    credited_minor_of_jobs,
    listed_claims,
    standing_of,
    sums_of,
)
from inventory.services import supplier_claims as services
from inventory.services.supplier_claims import Asking, Replacement, Step
from inventory.verification import supplier_claims as verified
from shop.acts import Refused, Stale
from shop.clock import now
from shop.models import Staff
from tests.builders import a_drawer, a_lot, a_profile, a_staff, a_supplier, drawer_of
from tests.conftest import MONDAY, StillClock
from tests.inventory.builders import errors_of, post, texts
from tests.jobs.bad_lots import a_supplier_claim

pytestmark = pytest.mark.django_db
DAY = MONDAY.date()


@pytest.fixture(autouse=True)
def _monday(still_clock: StillClock) -> None:
    a_profile()


def standing_by(days: int | None = 365, **more: int) -> Supplier:
    supplier = a_supplier("Ohm & Sons", **more)
    Supplier.objects.filter(pk=supplier.pk).update(warranty_days=days)
    supplier.refresh_from_db()
    return supplier


def step(claim: SupplierClaim, note: str = "", on: date = DAY) -> Step:
    return Step(on, note, len(standing_of(claim).steps))


def who() -> Staff:
    return a_staff()


class TestTheWindow:
    @pytest.mark.parametrize(
        ("return_days", "warranty_days", "ends"),
        [(14, 365, DAY + timedelta(365)), (400, 365, DAY + timedelta(400)), (14, None, DAY + timedelta(14)), (0, None, None)],
    )
    def test_is_the_later_of_both(self, return_days: int, warranty_days: int | None, ends: date | None) -> None:
        lot = a_lot(supplier=standing_by(warranty_days, return_days=return_days))
        assert cover_of(lot, DAY).until_on == ends

    def test_holds_on_its_last_day_and_not_on_the_next(self) -> None:
        lot = a_lot(supplier=standing_by(30))
        last = DAY + timedelta(30)
        assert (cover_of(lot, last).is_over, cover_of(lot, last).words) == (False, "today is the last day")
        assert cover_of(lot, last + timedelta(1)).words == "over for 1 day"

    def test_once_over_wants_a_reason(self, still_clock: StillClock) -> None:
        lot = a_lot(supplier=standing_by(30))
        day = still_clock.forward(days=31).date()
        with pytest.raises(Refused, match=r"Ohm & Sons stood by this lot until 01 April 2026\. To claim all the same, say why\."):
            a_supplier_claim(lot, on=day)
        claim = a_supplier_claim(lot, on=day, late_why="they promised it on the telephone")
        assert standing_of(claim).last.note == "after the cover ended: they promised it on the telephone"


class TestTheCount:
    def test_is_never_more_than_came_less_what_is_claimed(self) -> None:
        lot = a_lot(count=5, supplier=standing_by())
        first = a_supplier_claim(lot, count=3)
        with pytest.raises(Refused, match=r"2 of this lot can still be claimed\."):
            a_supplier_claim(lot, count=3)
        a_supplier_claim(lot, count=2)
        with pytest.raises(Refused, match=r"All of this lot is claimed already\."):
            a_supplier_claim(lot)
        services.answered_no(first, step(first, "too old"), dropped=False, person=who(), at=now())
        assert claimable_count(lot) == 3
        assert verified().differences == ()

    def test_counts_what_was_set_apart_where_it_is_now(self) -> None:
        lot = a_lot(count=5, supplier=standing_by())
        (one,) = stock.set_apart(lot, drawer_of(lot), ["V1"], person=who(), at=now())
        assert (claimable_count(lot), claimable_count(one)) == (4, 1)

    def test_needs_a_supplier(self) -> None:
        with pytest.raises(Refused, match="No supplier is written down for this lot, so there is nobody to claim from"):
            a_supplier_claim(a_lot())

    @pytest.mark.parametrize(("asking", "field"), [(Asking(0, "x", DAY), "count"), (Asking(1, " ", DAY), "reason")])
    def test_needs_a_count_and_a_reason(self, asking: Asking, field: str) -> None:
        with pytest.raises(Refused) as refused:
            services.claim_back(a_lot(supplier=standing_by()), asking, person=who(), at=now())
        assert refused.value.field == field

    @pytest.mark.parametrize("day", [DAY - timedelta(1), DAY + timedelta(2)])
    def test_is_of_a_day_between_receipt_and_today(self, day: date) -> None:
        with pytest.raises(Refused):
            a_supplier_claim(a_lot(supplier=standing_by()), on=day)


class TestSteps:
    def test_parts_out_of_a_drawer_leave_the_stock_and_failed_ones_move_nothing(self) -> None:
        lot = a_lot(count=5, supplier=standing_by())
        claim, drawer = a_supplier_claim(lot, count=3), drawer_of(lot)
        with pytest.raises(Refused, match="The claim is for 3; no more of them can go back"):
            services.sent_back(claim, step(claim), person=who(), at=now(), out_of=drawer, out_count=4)
        services.sent_back(claim, step(claim, "by post"), person=who(), at=now(), out_of=drawer, out_count=2)
        assert lot.balances.get().on_hand == 3
        assert lot.movements.filter(kind=MovementKind.SENT_BACK).get().count == -2
        assert standing_of(claim).last.note == f"2 out of drawer {drawer}; by post"

    def test_a_credit_counts_for_the_job_and_can_be_taken_back(self) -> None:
        lot = a_lot(count=5, supplier=standing_by())
        claim = a_supplier_claim(lot, count=2, reference="J-2026-0001")
        assert sums_of(listed_claims()).open_minor == 40
        services.credited(claim, step(claim), 25, person=who(), at=now())
        services.credited(claim, step(claim), 15, person=who(), at=now())
        assert credited_minor_of("J-2026-0001") == listed_claims().get().credited == 40  # type: ignore[attr-defined]
        services.take_credit_back(claim, step(claim), person=who(), at=now())
        assert credited_minor_of("J-2026-0001") == standing_of(claim).credited_minor == listed_claims().get().credited == 25  # type: ignore[attr-defined]
        assert standing_of(claim).is_open
        assert sums_of(listed_claims()).open_minor == 15
        assert credited_minor_of_jobs(["J-2026-0002"]) == {}
        assert verified().differences == ()

    def test_more_than_they_cost_says_why(self) -> None:
        claim = a_supplier_claim(a_lot(supplier=standing_by()))
        with pytest.raises(Refused, match="That is more than the parts cost"):
            services.credited(claim, step(claim), 21, person=who(), at=now())
        services.credited(claim, step(claim, "with the carriage"), 500, person=who(), at=now())

    def test_what_came_instead_is_a_lot_with_a_window_of_its_own(self, still_clock: StillClock) -> None:
        lot = a_lot(count=5, supplier=standing_by(30))
        claim = a_supplier_claim(lot, count=2)
        day = still_clock.forward(days=20).date()
        came = Replacement(2, a_drawer("B", "1"), 0, "8A1")
        new = services.replaced(claim, step(claim, on=day), came, person=who(), at=now())
        assert (new.part, new.supplier, new.unit_cost_milli, new.date_code) == (lot.part, lot.supplier, 0, "8A1")
        assert cover_of(new, day).until_on == day + timedelta(30)
        with pytest.raises(Refused, match="Parts came in place of these"):
            services.ask_again(claim, step(claim, on=day), person=who(), at=now())

    def test_a_no_ends_it_until_it_is_asked_again(self) -> None:
        claim = a_supplier_claim(a_lot(count=1, supplier=standing_by()))
        with pytest.raises(Refused, match="Say why, in a few words"):
            services.answered_no(claim, step(claim), dropped=True, person=who(), at=now())
        services.answered_no(claim, step(claim, "not worth the carriage"), dropped=True, person=who(), at=now())
        with pytest.raises(Refused, match=r"This claim was answered: not followed up\. Ask again first, if it goes on\."):
            services.credited(claim, step(claim), 5, person=who(), at=now())
        services.ask_again(claim, step(claim), person=who(), at=now())
        assert standing_of(claim).is_open

    def test_what_was_claimed_anew_meanwhile_is_not_asked_for_twice(self) -> None:
        lot = a_lot(count=1, supplier=standing_by())
        claim = a_supplier_claim(lot)
        services.answered_no(claim, step(claim, "no"), dropped=False, person=who(), at=now())
        a_supplier_claim(lot)
        with pytest.raises(Refused, match="These parts were claimed anew meanwhile"):
            services.ask_again(claim, step(claim), person=who(), at=now())

    def test_the_second_of_two_people_is_told(self) -> None:
        claim = a_supplier_claim(a_lot(supplier=standing_by()))
        with pytest.raises(Stale):
            services.credited(claim, Step(DAY, seen=0), 5, person=who(), at=now())


class TestPages:
    def claim(self) -> SupplierClaim:
        return a_supplier_claim(a_lot(count=5, supplier=standing_by()), count=2, reference="J-2026-0001")

    def test_a_claim_begins_with_what_the_address_says(self, counter_client: Client) -> None:
        lot = a_lot(supplier=standing_by())
        page = texts(
            counter_client.get(reverse("inventory:supplier_claim_new", args=[lot.pk]), {"count": "2", "job": "J-2026-0001"})
        )
        assert 'name="count" value="2"' in page
        assert 'value="J-2026-0001"' in page
        assert "365 days left" in page
        typed = {"count": "2", "reason": "leak", "on": "2026-03-02", "reference": "J-2026-0001"}
        done = post(counter_client, "inventory:supplier_claim_new", lot.pk, **typed)
        assert done["Location"] == reverse("inventory:supplier_claim", args=[SupplierClaim.objects.get().pk])

    def test_a_lot_without_a_supplier_is_told_why_not(self, owner_client: Client) -> None:
        answer = owner_client.get(reverse("inventory:supplier_claim_new", args=[a_lot().pk]))
        assert answer.status_code == 409
        assert "nobody to claim from" in texts(answer)

    def test_every_step_is_a_form_that_acts_once(self, counter_client: Client) -> None:
        claim = self.claim()
        typed = {"once": "5f0c5c1e-8c4e-4a39-9a0e-4b1f7e0e0001", "on": "2026-03-02", "seen": "1", "amount": "0.30", "note": ""}
        for _ in range(2):
            counter_client.post(reverse("inventory:supplier_claim_credit", args=[claim.pk]), typed)
        assert credited_minor_of("J-2026-0001") == 30
        post(counter_client, "inventory:supplier_claim_no_credit", claim.pk, seen="2")
        assert credited_minor_of("J-2026-0001") == 0
        back = {"on": "2026-03-02", "seen": "3", "out_count": "1", "out_of": "A / 1"}
        assert post(counter_client, "inventory:supplier_claim_back", claim.pk, **back).status_code == 302
        post(counter_client, "inventory:supplier_claim_refused", claim.pk, on="2026-03-02", seen="4", note="too old")
        post(counter_client, "inventory:supplier_claim_again", claim.pk, seen="5")
        came = {"on": "2026-03-02", "seen": "6", "count": "2", "cost": "0", "drawer": "A / 1"}
        assert post(counter_client, "inventory:supplier_claim_replaced", claim.pk, **came).status_code == 302
        assert Lot.objects.count() == 2
        kinds = [each.kind for each in standing_of(claim).steps]
        assert kinds == ["asked", "credited", "asked", "sent_back", "refused", "asked", "replaced"]

    def test_bad_input_keeps_what_was_typed(self, owner_client: Client) -> None:
        claim = self.claim()
        answer = post(
            owner_client, "inventory:supplier_claim_credit", claim.pk, on="2026-03-02", seen="1", amount="gold", note="cheque"
        )
        assert answer.status_code == 422
        assert "cheque" in texts(answer)
        stale = post(owner_client, "inventory:supplier_claim_dropped", claim.pk, on="2026-03-02", seen="9", note="let it be")
        assert "Somebody else wrote a step down" in errors_of(stale)["__all__"][0]

    def test_the_list_has_sums_and_asks_as_often_for_many(
        self, owner_client: Client, django_assert_max_num_queries: object
    ) -> None:
        claim = self.claim()
        url = reverse("inventory:supplier_claims")
        with django_assert_max_num_queries(20) as seen:  # type: ignore[operator]
            page = texts(owner_client.get(url))
        assert "£0.40" in page
        few = len(seen.captured_queries)
        for _ in range(3):
            a_supplier_claim(a_lot(supplier=claim.supplier))
        with django_assert_max_num_queries(few):  # type: ignore[operator]
            owner_client.get(url)
        assert b"Ohm & Sons" in owner_client.get(url, {"as": "csv"}).content

    def test_the_suppliers_card_keeps_their_days_and_says_what_is_open(self, counter_client: Client) -> None:
        claim = self.claim()
        page = texts(counter_client.get(reverse("inventory:supplier_change", args=[claim.supplier_id])))
        assert 'name="warranty_days" value="365"' in page
        assert "not answered yet: £0.40" in page

    def test_the_letter_says_what_is_wrong(self, counter_client: Client) -> None:
        answer = counter_client.get(reverse("inventory:supplier_claim_pdf", args=[self.claim().pk]))
        assert answer["Content-Type"] == "application/pdf"
