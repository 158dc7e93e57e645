"""What lies near a value, and the cabinets with what is looked for marked."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory import services
from inventory.models import CabinetFace, Kind
from inventory.queries.drawers import cabinets, holding
from inventory.queries.near import Wanted, nearest, unrated
from inventory.queries.parts import parts_matching
from tests.builders import a_drawer, a_lot, a_part, a_profile
from tests.inventory.builders import post, texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()
    for marking, count in (
        ("0.047 µF 630 V", 5),
        ("0.05 µF 400 V", 3),
        ("0.047 µF 250 V", 9),
        ("0.1 µF 630 V", 2),
        ("0.047 µF", 1),
    ):
        a_lot(a_part(marking), count, a_drawer("A", marking))


def titles(wanted: Wanted) -> list[str]:
    return [one.part.marking for one in nearest(wanted)]


def test_what_do_i_have_near_0047_at_400_volts_or_more() -> None:
    wanted = Wanted("capacitance", 4.7e-8, least_volts=400)
    assert titles(wanted) == ["0.047 µF 630 V", "0.05 µF 400 V"]
    assert [one.off_words for one in nearest(wanted)] == ["the value itself", "+6.38 %"]
    assert unrated(wanted) == 1


def test_further_off_takes_more_in() -> None:
    assert "0.1 µF 630 V" in titles(Wanted("capacitance", 4.7e-8, within=2.2))
    assert "0.1 µF 630 V" not in titles(Wanted("capacitance", 4.7e-8, within=1.5))


def test_what_is_not_in_a_drawer_shows_when_asked_for() -> None:
    a_part("0.047 µF 1000 V")
    assert "0.047 µF 1000 V" not in titles(Wanted("capacitance", 4.7e-8))
    assert "0.047 µF 1000 V" in titles(Wanted("capacitance", 4.7e-8, only_here=False))


def test_a_blocked_lot_is_not_free() -> None:
    lot = a_lot(a_part("0.047 µF 1600 V"), 4, a_drawer("B", "1"))
    services.block_lot(lot, "fakes")
    (found,) = [one for one in nearest(Wanted("capacitance", 4.7e-8, least_volts=1000))]
    assert found.free == 0


@given(st.floats(1e-12, 1e-3), st.sampled_from((1.1, 1.25, 2.2, 10.0)))
def test_nothing_outside_the_reach_is_shown_and_the_nearest_comes_first(value: float, within: float) -> None:
    found = nearest(Wanted("capacitance", value, within=within))
    ratios = [max(one.part.value_si / value, value / one.part.value_si) for one in found]
    assert all(ratio <= within * (1 + 1e-6) for ratio in ratios)
    assert ratios == pytest.approx(sorted(ratios), rel=1e-6)


def test_the_page_tells_where_it_lies(colleague_client: Client) -> None:
    page = texts(colleague_client.get(reverse("inventory:near"), {"kind": "capacitance", "near": ".047 400V"}))
    assert "0.047 µF 630 V" in page
    assert "0.047 µF 250 V" not in page
    assert "A / 0.047 µF 630 V" in page
    assert "1 part of the value is left out: the card says no rating." in page


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"kind": "capacitance", "near": "soon"}, "near"),
        ({"kind": "capacitance", "near": ""}, "near"),
        ({"kind": "hat", "near": ".047"}, "kind"),
        ({"kind": "capacitance", "near": ".047", "volts": "many"}, "volts"),
        ({"kind": "capacitance", "near": ".047", "within": "99"}, "within"),
    ],
)
def test_what_cant_be_read_is_told_and_kept(typed: dict[str, str], said: str, colleague_client: Client) -> None:
    answer = colleague_client.get(reverse("inventory:near"), typed)
    assert answer.status_code == 422
    assert said in answer.context["form"].errors


def test_nothing_near_is_said_with_a_way_on(colleague_client: Client) -> None:
    page = texts(colleague_client.get(reverse("inventory:near"), {"kind": "resistance", "near": "220K"}))
    assert "Nothing so near lies in the drawers." in page


def test_the_same_queries_for_one_and_for_fifty(colleague_client: Client, django_assert_max_num_queries: Any) -> None:
    for number in range(50):
        a_lot(a_part(f"0.047 µF {700 + number} V"), 1, a_drawer("N", str(number)))
    with django_assert_max_num_queries(9):
        colleague_client.get(reverse("inventory:near"), {"kind": "capacitance", "near": ".047"})


# The cabinets.


def test_what_is_looked_for_is_marked_on_the_cabinet(colleague_client: Client) -> None:
    page = texts(colleague_client.get(reverse("inventory:drawers"), {"q": ".047"}))
    assert "“.047” lies in 4 drawers, marked below." in page
    assert "0.047 µF 250 V × 9" in page
    assert set(holding(parts_matching(".047")).values()) >= {"0.047 µF 250 V × 9", "0.047 µF 630 V × 5"}


def test_what_lies_nowhere_is_said(colleague_client: Client) -> None:
    assert "Nothing like “zebra” lies in a drawer." in texts(colleague_client.get(reverse("inventory:drawers"), {"q": "zebra"}))


@pytest.mark.parametrize("query", ["part=x", "part=" + "9" * 30, "mark=1,x,-3", "mark=" + "9," * 3000, "q=" + "x" * 5000])
def test_odd_marks_mark_nothing_wrong(query: str, colleague_client: Client) -> None:
    assert colleague_client.get(f"{reverse('inventory:drawers')}?{query}").status_code == 200


def test_a_cabinet_is_drawn_as_it_stands(colleague_client: Client) -> None:
    assert post(colleague_client, "inventory:cabinet_face", cabinet="A", across="4").status_code == 302
    assert cabinets()[0].across == 4
    assert "across-4" in texts(colleague_client.get(reverse("inventory:drawers")))
    post(colleague_client, "inventory:cabinet_face", cabinet="A", across="6")
    assert CabinetFace.objects.get().across == 6


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"cabinet": "A", "across": "0"}, "greater than or equal to 1"),
        ({"cabinet": "A", "across": "25"}, "less than or equal to 24"),
        ({"cabinet": "A", "across": "wide"}, "Enter a whole number."),
        ({"cabinet": "Q", "across": "4"}, "There is no cabinet Q. Make its drawers first."),
    ],
)
def test_a_front_that_cant_be_is_refused(typed: dict[str, str], said: str, colleague_client: Client) -> None:
    answer = post(colleague_client, "inventory:cabinet_face", **typed)
    assert answer.status_code == 422
    assert said in texts(answer)
    assert not CabinetFace.objects.exists()


def test_the_kinds_that_are_found_by_value_are_those_with_one() -> None:
    assert {"capacitance", "resistance", "inductance"} <= set(Kind.values)
