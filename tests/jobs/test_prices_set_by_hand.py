"""Another price than ours, with its reason: when fitting, when planning, on the owner's list; and what the hour pays for."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from billing.queries.bills import bill_lines
from inventory.models import Lot, Part
from jobs.models import Decision, EstimateLine, Job, LogEntry, Stage
from jobs.queries.hand_prices import set_by_hand, sums_of
from jobs.services import log
from shop.acts import Refused
from shop.clock import now
from shop.models import Profile
from tests.builders import a_fit, a_job, a_lot, a_part, a_profile, an_estimate, author, drawer_of, position_of
from tests.inventory.builders import texts
from tests.jobs.at_bench import a_resistor, enter, offer_of, state_of

REASON = "agreed with the customer on the telephone"


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING)


def by_hand(minor: int = 150, reason: str = REASON, below_cost: bool = False) -> log.SetPrice:
    return log.SetPrice(minor, reason, below_cost)


def test_a_price_set_by_hand_is_charged_and_ours_is_kept_beside_it(job: Job, colleague_client: Client) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor(45))
    fields = {"offer": offer_of(lot), "price": "1.50", "price_reason": REASON, "count": 2}
    assert enter(colleague_client, place, "fit", **fields).status_code == 302
    entry = state_of(place).fitted[0]
    assert (entry.unit_price_minor, entry.usual_price_minor, entry.price_reason, entry.charged) == (150, 45, REASON, True)
    assert entry.price_minor == 300
    page = texts(colleague_client.get(reverse("jobs:position", args=[place.pk])))
    assert f"£1.50 each instead of £0.45: {REASON}" in page


def test_our_own_price_typed_again_is_no_other_price(job: Job) -> None:
    entry = a_fit(job, "R1", a_lot(a_resistor(45)), price=by_hand(45))
    assert (entry.unit_price_minor, entry.usual_price_minor, entry.price_reason) == (45, None, "")


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"price": "1.50"}, "price_reason", "Say why it has another price."),
        ({"price": "1.5O", "price_reason": REASON}, "price", "“1.5O” can't be read as a sum. Type it like 12.50."),
        ({"price": "-1", "price_reason": REASON}, "price", "A sum can't be below zero here."),
        (
            {"price_reason": REASON},
            "price",
            "There is a reason for another price here. Type the price too, or empty the reason.",
        ),
        (
            {"price": "1.50", "price_reason": REASON, "not_charged": "my own slip"},
            "price",
            "Either it has another price or it isn't charged. Empty one of the two.",
        ),
        (
            {"price": "0.10", "price_reason": REASON},
            "price",
            "£0.10 is below what one of this lot cost, £0.20. If that is meant, tick so and send it again.",
        ),
    ],
)
def test_a_bad_price_is_refused_and_kept(
    typed: dict[str, Any], field: str, text: str, job: Job, colleague_client: Client
) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor(45))
    answer: Any = enter(colleague_client, place, "fit", offer=offer_of(lot), **typed)
    assert answer.status_code == 422
    assert list(answer.context["form_of"]["fit"].errors[field]) == [text]
    page = answer.content.decode()
    assert all(f'value="{value}"' in page for value in typed.values())
    assert ("Yes, below what it cost" in page) == (typed.get("price") == "0.10")
    assert lot.balances.get().on_hand == 10


def test_below_cost_is_fitted_once_it_is_meant(job: Job, colleague_client: Client, owner_client: Client) -> None:
    place, lot = position_of(job, "R1"), a_lot(a_resistor(45))
    fields = {"offer": offer_of(lot), "price": "0.10", "price_reason": REASON, "below_cost": "on"}
    assert enter(colleague_client, place, "fit", **fields).status_code == 302
    assert state_of(place).fitted[0].unit_price_minor == 10
    assert "below cost" in texts(owner_client.get(reverse("jobs:hand_prices")))


def test_the_ceiling_holds_for_a_price_set_by_hand(job: Job) -> None:
    with pytest.raises(Refused, match="is agreed"):
        a_fit(job, "R1", a_lot(a_resistor(45)), price=by_hand(10_000_000))


def plan(job: Job, lot: Lot, price: log.SetPrice | None = None) -> LogEntry:
    planned = log.Plan(lot.part, 1, lot, drawer_of(lot), price)
    return log.decide(position_of(job, "R1"), Decision.REPLACE, author(), plan=planned)


def test_a_planned_price_goes_to_the_estimate_and_into_the_fitting(colleague_client: Client) -> None:
    job, lot = a_job(Stage.INSPECTING, with_fit=False), a_lot(a_resistor(45))
    place = position_of(job, "R1")
    fields = {"offer": offer_of(lot), "price": "1.50", "price_reason": REASON}
    assert enter(colleague_client, place, "plan", **fields).status_code == 302
    decided = state_of(place).decided
    assert (decided.unit_price_minor, decided.usual_price_minor, decided.price_reason) == (150, 45, REASON)
    an_estimate(job)
    assert EstimateLine.objects.get(position=place).low_minor == 150


def test_what_was_planned_at_a_price_is_fitted_at_it(job: Job) -> None:
    lot = a_lot(a_resistor(45))
    plan(job, lot, by_hand())
    assert a_fit(job, "R1").unit_price_minor == 150
    state = state_of(position_of(job, "R1"))
    log.take_out(state.fitted[0], "wrong hole", author(), scrap=False)
    assert a_fit(job, "R1", lot, not_charged="my own slip").usual_price_minor is None


def test_another_part_than_the_planned_one_has_its_own_price(job: Job) -> None:
    plan(job, a_lot(a_resistor(45)), by_hand())
    other = a_lot(a_part("220 kΩ 2 W", "resistance", "carbon_film", list_price_minor=60))
    entry = a_fit(job, "R1", other)
    assert (entry.unit_price_minor, entry.price_reason) == (60, "")


def test_a_part_that_nothing_prices_can_be_planned_at_a_price_by_hand(job: Job) -> None:
    part = a_part("220 kΩ 1 W", "resistance", "carbon_film")
    with pytest.raises(Refused, match="neither a list price nor a lot"):
        log.decide(position_of(job, "R1"), Decision.REPLACE, author(), plan=log.Plan(part))
    entry = log.decide(position_of(job, "R1"), Decision.REPLACE, author(), plan=log.Plan(part, price=by_hand()))
    assert entry.unit_price_minor == 150


class TestFoldedIntoTheHour:
    def test_a_minor_part_is_on_the_bill_as_not_charged(self, job: Job) -> None:
        part = a_part("220 kΩ 1 W", "resistance", "carbon_film", list_price_minor=45, in_the_hour=True)
        entry = a_fit(job, "R1", a_lot(part))
        assert (entry.unit_price_minor, entry.charged, entry.not_charged_reason) == (45, False, "folded into the hour")
        lines = [line for line in bill_lines(job, Profile.objects.get()) if line.entry == entry]
        assert [(line.amount_minor, line.not_charged_reason) for line in lines] == [(0, "folded into the hour")]

    @pytest.mark.parametrize(("price_minor", "charged"), [(49, False), (50, True), (0, True)])
    def test_so_is_what_sells_below_the_shops_line(self, price_minor: int, charged: bool, job: Job) -> None:
        Profile.objects.update(in_the_hour_below_minor=50)
        assert a_fit(job, "R1", a_lot(a_resistor(price_minor))).charged == charged

    def test_the_reason_typed_at_the_bench_goes_before_ours(self, job: Job) -> None:
        part = a_part("220 kΩ 1 W", "resistance", "carbon_film", list_price_minor=45, in_the_hour=True)
        assert a_fit(job, "R1", a_lot(part), not_charged="my own slip").not_charged_reason == "my own slip"

    def test_a_price_set_by_hand_charges_it_after_all(self, job: Job) -> None:
        part = a_part("220 kΩ 1 W", "resistance", "carbon_film", list_price_minor=45, in_the_hour=True)
        entry = a_fit(job, "R1", a_lot(part), price=by_hand(45, "customer asked for a full bill"))
        assert (entry.charged, entry.price_minor, entry.usual_price_minor) == (True, 45, 45)

    def test_planned_it_costs_nothing_on_the_estimate(self, colleague_client: Client) -> None:
        a_profile(in_the_hour_below_minor=50)
        job, lot = a_job(Stage.INSPECTING, with_fit=False), a_lot(a_resistor(45))
        plan(job, lot)
        state = state_of(position_of(job, "R1"))
        assert (state.planned_minor, state.has_price) == (0, True)
        page = texts(colleague_client.get(reverse("jobs:position", args=[state.position.pk])))
        assert "£0.45 each (list price; folded into the hour, as it sells below £0.50)" in page
        assert not an_estimate(job).lines.filter(position=state.position).exists()


class TestTheOwnersList:
    def test_shows_what_was_set_and_sums_what_is_still_in(self, owner_client: Client, job: Job) -> None:
        assert "Every price is our own" in texts(owner_client.get(reverse("jobs:hand_prices")))
        a_fit(job, "R1", a_lot(a_resistor(45)), price=by_hand(150), count=2)
        out = a_fit(job, "R1", a_lot(a_resistor(45)), price=by_hand(100))
        log.take_out(out, "wrong hole", author(), scrap=False)
        a_fit(job, "C2")
        sums = sums_of(set_by_hand())
        assert (sums.count, sums.charged_minor, sums.usual_minor, sums.difference_minor) == (2, 300, 90, 210)
        page = texts(owner_client.get(reverse("jobs:hand_prices")))
        assert page.count(REASON) == 2
        assert "Taken out again" in page

    def test_is_the_owners(self, colleague_client: Client, stranger_client: Client) -> None:
        a_profile()
        assert colleague_client.get(reverse("jobs:hand_prices")).status_code == 403
        assert stranger_client.get(reverse("jobs:hand_prices")).status_code == 302

    def test_asks_as_often_for_fifty_as_for_one(self, owner_client: Client, job: Job, django_assert_max_num_queries: Any) -> None:
        part = a_resistor(45)

        def queries() -> int:
            with django_assert_max_num_queries(12) as seen:
                owner_client.get(reverse("jobs:hand_prices"))
            return len(seen.captured_queries)

        a_fit(job, "R1", a_lot(part), price=by_hand(46))
        one = queries()
        for _ in range(50):
            a_fit(job, "R1", a_lot(part), price=by_hand(46))
        assert queries() == one


def test_the_lines_proof_tells_the_hand_set_price(owner_client: Client, job: Job) -> None:
    a_fit(job, "R1", a_lot(a_resistor(45)), price=by_hand(), at=now())
    page = texts(owner_client.get(reverse("billing:job_money", args=[job.pk])))
    assert f"price set by hand, £0.45 each by our own: {REASON}" in page


def test_a_part_card_can_be_folded_into_the_hour(colleague_client: Client) -> None:
    a_profile()
    form = {"once": "0b0dbf1c-8a2a-4f0a-9d55-0b5cf3f2a001", "kind": "other", "marking": "solder tag", "in_the_hour": "on"}
    assert colleague_client.post(reverse("inventory:part_new"), form).status_code == 302
    assert Part.objects.get().in_the_hour
