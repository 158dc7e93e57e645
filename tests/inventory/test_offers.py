"""A supplier's offers: walking them, saying which card of ours each is, and showing them on the card's page."""

from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind, Offer, Supplier
from inventory.queries.offer_list import ROWS_A_PAGE, offers_matching, page_of_offers
from inventory.queries.offers_of import in_shop_milli, offer_lines, offers_for
from inventory.queries.suggestions import suggest_parts
from shop.search_text import fold
from tests.builders import a_part, a_profile, a_supplier
from tests.inventory.builders import post, texts


@pytest.fixture
def supplier(db: None) -> Supplier:
    a_profile()
    return a_supplier()


def an_offer(supplier: Supplier, code: str = "FC-047", text: str = "Film capacitor 0.047 µF 630 V", **more: Any) -> Offer:
    facts = {"currency": "GBP", "breaks": [[1, 42_000], [10, 38_000]], "unit_milli": 42_000, "search": fold(f"{code} {text}")}
    return Offer.objects.create(supplier=supplier, code=code, text=text, **{**facts, **more})


def many(supplier: Supplier, first: int, last: int) -> None:
    rows = [(f"Q{n:05d}", f"Film capacitor {n + 1} nF 400 V") for n in range(first, last)]
    facts = {"currency": "GBP", "breaks": [[1, 1_000]], "unit_milli": 1_000}
    Offer.objects.bulk_create(
        Offer(supplier=supplier, code=code, text=text, search=fold(f"{code} {text}"), **facts) for code, text in rows
    )


class TestOffersOfAPart:
    def test_are_those_offered_now_by_suppliers_we_buy_from(self, supplier: Supplier) -> None:
        part, other = a_part(), a_part("0.1 µF 630 V")
        kept = an_offer(supplier, part=part)
        an_offer(supplier, "OLD", part=part, is_offered=False)
        left = Supplier.objects.create(name="Left & Gone", in_use=False)
        an_offer(left, part=part)
        assert offers_for([part, other.pk]) == {part.pk: [kept], other.pk: []}

    def test_are_shown_in_the_shops_money_the_cheapest_first(self, supplier: Supplier, owner_client: Client) -> None:
        part = a_part()
        abroad = Supplier.objects.create(name="Zwirnwerk", currency="EUR", exchange_ppm=860_000, lead_days=9)
        an_offer(supplier, part=part)
        an_offer(abroad, "Z-1", part=part, currency="EUR", breaks=[[1, 40_000]], unit_milli=40_000)
        lines = offer_lines(part, "GBP")
        assert [(line.offer.code, line.steps[0].shop_milli, line.lead_days) for line in lines] == [
            ("Z-1", 34_400, 9),
            ("FC-047", 42_000, 7),
        ]
        page = texts(owner_client.get(reverse("inventory:part", args=[part.pk])))
        assert "Offered by" in page
        assert "£0.344" in page

    def test_without_a_rate_are_shown_in_their_own_and_come_last(self, supplier: Supplier, owner_client: Client) -> None:
        part = a_part()
        an_offer(supplier, "A-1", part=part, currency="EUR", breaks=[[1, 1]], unit_milli=1)
        an_offer(supplier, part=part)
        assert [line.offer.code for line in offer_lines(part, "GBP")] == ["FC-047", "A-1"]
        assert "no rate" in texts(owner_client.get(reverse("inventory:part", args=[part.pk])))

    def test_of_another_count_of_decimals_are_brought_to_ours(self, supplier: Supplier) -> None:
        """100 yen at 0.005 pounds each are 50 pence; ISO 4217 gives yen no decimals and pounds two."""
        abroad = Supplier.objects.create(name="Shirakawa Denki", currency="JPY", exchange_ppm=5_000)
        offer = an_offer(abroad, currency="JPY", breaks=[[1, 100_000]], unit_milli=100_000)
        assert in_shop_milli(offer, 100_000, "GBP") == Fraction(50_000)


class TestSuggestions:
    @pytest.mark.parametrize(
        ("text", "marking", "kind", "fits"),
        [
            ("Film capacitor 47nF 630VDC", "0.047 µF 630 V", Kind.CAPACITOR, True),
            ("Film capacitor 47nF 400VDC", "0.047 µF 630 V", Kind.CAPACITOR, False),
            ("Electrolytic 47nF 630V", "0.047 µF 630 V", Kind.CAPACITOR, False),
            ("Resistor 220K 1/2W", "220 kΩ 1/2 W", Kind.RESISTOR, True),
            ("Resistor 220K 1W", "220 kΩ 1/2 W", Kind.RESISTOR, False),
            ("Output valve 6V6-GT", "6V6GT", Kind.VALVE, True),
            ("Output valve 6V6G", "6V6GT", Kind.VALVE, False),
            ("Knob, walnut", "6V6GT", Kind.VALVE, False),
        ],
    )
    def test_follow_value_ratings_and_type(self, text: str, marking: str, kind: str, fits: bool, supplier: Supplier) -> None:
        part, offer = a_part(marking, kind), an_offer(supplier, text=text)
        assert suggest_parts([offer]) == ({offer.pk: [part]} if fits else {})

    def test_link_nothing_by_themselves(self, supplier: Supplier, counter_client: Client) -> None:
        part, offer = a_part("0.047 µF 630 V"), an_offer(supplier)
        page = texts(counter_client.get(reverse("inventory:offers", args=[supplier.pk])))
        assert f'name="same" value="{offer.pk}:{part.pk}"' in page
        assert "checked" not in page
        offer.refresh_from_db()
        assert offer.part is None


class TestLinkingSeveral:
    def test_links_what_was_ticked(self, supplier: Supplier, counter_client: Client) -> None:
        part, valve = a_part("0.047 µF 630 V"), a_part("EL84", Kind.VALVE)
        one, two, three = an_offer(supplier), an_offer(supplier, "EL84", "Valve EL84"), an_offer(supplier, "X", "EL84 too")
        answer = post(counter_client, "inventory:offers_link", supplier.pk, same=[f"{one.pk}:{part.pk}", f"{two.pk}:{valve.pk}"])
        assert answer.status_code == 302
        assert dict(Offer.objects.values_list("pk", "part")) == {one.pk: part.pk, two.pk: valve.pk, three.pk: None}

    @pytest.mark.parametrize(
        ("ticked", "said"),
        [
            ([], "Nothing is ticked."),
            (["{one}:{part}", "{one}:{other}"], "Two cards are ticked for one offer."),
            (["{one}:{part}", "{taken}:{part}"], "Somebody else linked TAKEN meanwhile. Nothing was linked"),
            (["x:y"], "This form was incomplete"),
            (["{one}:99999999"], "One of these is no longer there."),
            (["{foreign}:{part}"], "One of these is no longer there."),
        ],
    )
    def test_refuses_as_a_whole(self, ticked: list[str], said: str, supplier: Supplier, counter_client: Client) -> None:
        part, other = a_part("0.047 µF 630 V"), a_part("0.1 µF 630 V")
        keys = {
            "one": an_offer(supplier).pk,
            "taken": an_offer(supplier, "TAKEN", part=other).pk,
            "foreign": an_offer(a_supplier("Brimble Wireless Stores")).pk,
            "part": part.pk,
            "other": other.pk,
        }
        answer = post(counter_client, "inventory:offers_link", supplier.pk, same=[one.format(**keys) for one in ticked])
        assert answer.status_code == 409
        assert said in texts(answer)
        assert Offer.objects.filter(part=part).count() == 0


class TestOneOffer:
    def test_is_linked_unlinked_and_undone(self, supplier: Supplier, colleague_client: Client) -> None:
        part, offer = a_part("0.047 µF 630 V"), an_offer(supplier, text="says nothing")
        address = reverse("inventory:offer", args=[offer.pk])
        assert part.title in texts(colleague_client.get(address, {"q": "47n"}))
        assert post(colleague_client, "inventory:offer_link", offer.pk, part=part.pk, seen="").status_code == 302
        offer.refresh_from_db()
        assert offer.part == part
        assert "Undo" in texts(colleague_client.get(address))
        assert post(colleague_client, "inventory:offer_link", offer.pk, part="", seen=part.pk).status_code == 302
        offer.refresh_from_db()
        assert offer.part is None

    def test_that_somebody_else_linked_meanwhile_is_looked_at_again(self, supplier: Supplier, colleague_client: Client) -> None:
        mine, theirs = a_part("0.047 µF 630 V"), a_part("0.1 µF 630 V")
        offer = an_offer(supplier, part=theirs)
        answer = post(colleague_client, "inventory:offer_link", offer.pk, part=mine.pk, seen="")
        assert answer.status_code == 409
        assert "Somebody else linked this offer since you opened it." in texts(answer)
        offer.refresh_from_db()
        assert offer.part == theirs

    @pytest.mark.parametrize("part", ["x", "-1", "99999999", "9" * 40])
    def test_takes_no_card_that_is_none(self, part: str, supplier: Supplier, colleague_client: Client) -> None:
        offer = an_offer(supplier)
        assert post(colleague_client, "inventory:offer_link", offer.pk, part=part, seen="").status_code == 409

    def test_a_stranger_links_nothing(self, supplier: Supplier, stranger_client: Client) -> None:
        offer = an_offer(supplier)
        assert post(stranger_client, "inventory:offer_link", offer.pk, part="", seen="").status_code == 302
        assert "sign-in" in stranger_client.get(reverse("inventory:offer", args=[offer.pk]))["Location"]


class TestTheList:
    def test_is_walked_forth_and_back(self, supplier: Supplier) -> None:
        many(supplier, 0, 2 * ROWS_A_PAGE + 20)
        every = offers_matching(supplier, "", "")
        first = page_of_offers(every)
        second = page_of_offers(every, after=first.after)
        third = page_of_offers(every, after=second.after)
        assert [len(page.offers) for page in (first, second, third)] == [ROWS_A_PAGE, ROWS_A_PAGE, 20]
        assert (first.before, third.after) == ("", "")
        back = page_of_offers(every, before=third.before)
        assert [one.code for one in back.offers] == [one.code for one in second.offers]
        assert page_of_offers(every, before=back.before).before == ""

    @pytest.mark.parametrize(
        ("text", "show", "found"),
        [
            ("", "", {"A", "B"}),
            ("mica", "", {"B"}),
            ("SILVER b", "", {"B"}),
            ("", "open", {"A"}),
            ("", "linked", {"B"}),
            ("", "gone", {"C"}),
            ("nothing such", "", set()),
        ],
    )
    def test_is_searched_and_narrowed(self, text: str, show: str, found: set[str], supplier: Supplier) -> None:
        an_offer(supplier, "A")
        an_offer(supplier, "B", "Silver mica 100 pF", part=a_part())
        an_offer(supplier, "C", is_offered=False)
        assert {one.code for one in offers_matching(supplier, text, show)} == found

    def test_asks_as_often_for_five_hundred_as_for_one(
        self, supplier: Supplier, owner_client: Client, django_assert_max_num_queries: Any
    ) -> None:
        a_part("1 nF 400 V")
        an_offer(supplier, "A0", "Film capacitor 1 nF 400 V and EL84")
        url = reverse("inventory:offers", args=[supplier.pk])
        asked = []
        for first, last in ((0, 0), (0, 49), (49, 499)):
            many(supplier, first, last)
            with django_assert_max_num_queries(10) as seen:
                assert owner_client.get(url).status_code == 200
            asked.append(len(seen.captured_queries))
        assert len(set(asked)) == 1

    def test_says_what_comes_first_where_nothing_is_offered(self, supplier: Supplier, owner_client: Client) -> None:
        assert "Nothing is offered yet" in texts(owner_client.get(reverse("inventory:offers", args=[supplier.pk])))
