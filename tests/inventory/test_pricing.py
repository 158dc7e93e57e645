"""What a part sells for and why: list price, ladder by kind and cost, the hour; and what the owner changes of it."""

import uuid
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import services
from inventory.models import Kind, ListPriceChange, Lot, Part
from inventory.pricing import (
    ABOVE_PERCENT,
    DEFAULT_LADDER,
    PriceTerms,
    marked_up,
    price_terms,
    priced,
    priced_lot,
    rung_percent,
    unit_price_minor,
    why,
)
from inventory.services import PartFacts
from shop.acts import Refused
from shop.clock import now
from shop.models import MarkupStep, Profile
from shop.profile import ladder_seen, save_ladder
from tests.builders import a_lot, a_part, a_profile, a_staff
from tests.inventory.builders import errors_of, part_form, post, texts


def a_card(kind: str = Kind.CAPACITOR, list_price_minor: int | None = None, in_the_hour: bool = False) -> Part:
    return Part(kind=kind, marking="x", list_price_minor=list_price_minor, in_the_hour=in_the_hour)


def of(cost_milli: int) -> Lot:
    return Lot(unit_cost_milli=cost_milli)


class TestHowAPriceComesAbout:
    @pytest.mark.parametrize(
        ("card", "cost_milli", "terms", "price", "words"),
        [
            (a_card(list_price_minor=1850), 20_000, PriceTerms(), 1850, "list price"),
            (a_card(), 20_000, PriceTerms(), 60, "cost £0.20 × 300 %"),
            (a_card(), 1_250, PriceTerms(), 4, "cost £0.0125 × 300 %"),
            (a_card(), 6_000_000, PriceTerms(), 7_800, "cost £60.00 × 130 %"),
            (a_card(), 0, PriceTerms(), 0, "cost £0.00 × 300 %"),
            (a_card(in_the_hour=True), 20_000, PriceTerms(), 60, "cost £0.20 × 300 %; folded into the hour, as its card says"),
            (
                a_card(list_price_minor=49),
                20_000,
                PriceTerms(in_the_hour_below_minor=50),
                49,
                "list price; folded into the hour, as it sells below £0.50",
            ),
            (a_card(list_price_minor=50), 20_000, PriceTerms(in_the_hour_below_minor=50), 50, "list price"),
        ],
    )
    def test_is_said_in_words(self, card: Part, cost_milli: int, terms: PriceTerms, price: int, words: str) -> None:
        found = priced_lot(card, of(cost_milli), terms)
        assert (found.unit_minor, found.why) == (price, words)
        assert why(card, of(cost_milli), terms) == words
        assert unit_price_minor(card, of(cost_milli), terms) == price

    def test_without_list_price_and_lot_there_is_none(self) -> None:
        assert priced(a_card(), None, PriceTerms()) is None
        assert why(a_card(), None, PriceTerms()) == ""

    def test_in_the_shops_own_money(self) -> None:
        assert priced_lot(a_card(), of(20_000), PriceTerms(currency="JPY", locale="ja_JP")).how == "cost ￥20 × 300 %"

    def test_each_kind_goes_by_its_own_ladder_else_by_that_of_all_else_by_the_usual_one(self) -> None:
        own, general = [(100, 150)], [(100, 250)]
        terms = PriceTerms({Kind.VALVE: own, "": general})
        assert [terms.steps_for(kind) for kind in (Kind.VALVE, Kind.LAMP)] == [own, general]
        assert PriceTerms({Kind.VALVE: own}).steps_for(Kind.LAMP) == DEFAULT_LADDER


@given(
    cost_milli=st.integers(1, 10**9),
    rungs=st.dictionaries(st.integers(0, 10**6), st.integers(100, 10_000), max_size=6).map(lambda found: sorted(found.items())),
)
def test_a_rung_is_the_first_that_the_cost_fits_under(cost_milli: int, rungs: list[tuple[int, int]]) -> None:
    cost = Fraction(cost_milli, 1000)
    fitting = [percent for up_to, percent in rungs if cost <= up_to]
    percent = fitting[0] if fitting else ABOVE_PERCENT
    assert rung_percent(cost, rungs) == percent
    # Rounded half up to the coin, and never to nothing.
    assert abs(marked_up(cost, rungs) - cost * percent / 100) <= max(Fraction(1, 2), 1 - cost * percent / 100)
    assert marked_up(cost, rungs) >= 1


class TestLadders:
    def rungs(self, kind: str, *pairs: tuple[str, str]) -> dict[str, Any]:
        typed = {
            f"{name}_{n}": text for n, pair in enumerate(pairs) for name, text in zip(("up_to", "factor"), pair, strict=True)
        }
        return {"once": "", "seen": ladder_seen(kind), **typed}

    def send(self, client: Client, kind: str, *pairs: tuple[str, str], **more: Any) -> Any:
        form = {**self.rungs(kind, *pairs), "once": str(uuid.uuid4()), **more}
        return client.post(reverse("shop:markup") + (f"?kind={kind}" if kind else ""), form)

    def test_a_kind_gets_its_own_and_gives_it_up_again(self, owner_client: Client) -> None:
        a_profile()
        valve, film = a_lot(a_part("12SK7", Kind.VALVE)), a_lot(a_part())
        assert self.send(owner_client, "", ("1.00", "200")).status_code == 302
        assert self.send(owner_client, Kind.VALVE, ("5.00", "150"), ("1.00", "180")).status_code == 302
        terms = price_terms()
        assert terms.ladders == {"": [(100, 200)], Kind.VALVE: [(100, 180), (500, 150)]}
        assert [unit_price_minor(lot.part, lot) for lot in (valve, film)] == [36, 40]
        page = texts(owner_client.get(reverse("shop:markup") + "?kind=valve"))
        assert "Markup ladder: valve" in page
        assert "a ladder of its own" in page
        assert self.send(owner_client, Kind.VALVE, ("", "")).status_code == 302
        assert list(MarkupStep.objects.values_list("part_kind", flat=True)) == [""]
        assert unit_price_minor(valve.part, valve) == 40

    def test_a_kind_without_its_own_starts_from_that_of_all(self, owner_client: Client) -> None:
        a_profile()
        save_ladder([(100, 222)], seen=ladder_seen())
        page = owner_client.get(reverse("shop:markup") + "?kind=valve").content.decode()
        assert 'value="222"' in page
        assert "This kind has no ladder of its own yet" in page

    def test_an_unknown_kind_has_no_page(self, owner_client: Client) -> None:
        a_profile()
        assert owner_client.get(reverse("shop:markup") + "?kind=gramophone").status_code == 404

    def test_two_who_change_ladders_of_two_kinds_dont_meet(self, owner_client: Client) -> None:
        a_profile()
        seen = ladder_seen(Kind.VALVE)
        save_ladder([(100, 222)], seen=ladder_seen(Kind.LAMP), part_kind=Kind.LAMP)
        assert self.send(owner_client, Kind.VALVE, ("1.00", "180"), seen=seen).status_code == 302
        stale = self.send(owner_client, Kind.VALVE, ("1.00", "190"), seen=seen)
        assert errors_of(stale)["__all__"] == ["Somebody else changed the ladder since you opened it. Compare, then send again."]


class TestListPrices:
    def test_every_change_is_kept_with_its_moment_and_who_made_it(self, colleague_client: Client, colleague: Any) -> None:
        a_profile()
        assert post(colleague_client, "inventory:part_new", **part_form(list_price="1.00")).status_code == 302
        part = Part.objects.get()
        for typed in ("2.00", "2.00", ""):
            part.refresh_from_db()
            form = part_form(list_price=typed, in_use="on", seen=part.version)
            assert post(colleague_client, "inventory:part_change", part.pk, **form).status_code == 302
        kept = list(ListPriceChange.objects.values_list("before_minor", "after_minor", "person_id"))
        assert kept == [(100, 200, colleague.pk), (200, None, colleague.pk)]

    def test_a_refused_change_keeps_none(self, db: None) -> None:
        a_profile()
        part = services.add_part(PartFacts(Kind.VALVE, "EL84", list_price_minor=100))
        services.add_part(PartFacts(Kind.VALVE, "EL85"))
        clash = PartFacts(Kind.VALVE, "EL85", list_price_minor=300)
        with pytest.raises(Refused, match="There is a card for EL85"):
            services.change_part(part, clash, seen=part.version, person=a_staff(), at=now())
        assert not ListPriceChange.objects.exists()


class TestWhatTheHourPaysFor:
    def test_the_line_is_set_with_the_shops_terms(self, owner_client: Client) -> None:
        a_profile()
        assert "folded into the hour" in texts(owner_client.get(reverse("shop:profile")))
        assert Profile.objects.get().in_the_hour_below_minor == 0

    def test_the_list_of_parts_and_the_card_say_so(self, owner_client: Client) -> None:
        a_profile(in_the_hour_below_minor=61)
        lot = a_lot(a_part())
        assert "folded into the hour" in texts(owner_client.get(reverse("inventory:parts")))
        for name, pk in (("part", lot.part_id), ("lot", lot.pk)):
            page = texts(owner_client.get(reverse(f"inventory:{name}", args=[pk])))
            assert "cost £0.20 × 300 %; folded into the hour, as it sells below £0.61" in page
