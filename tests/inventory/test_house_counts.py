"""Pages that sum up the whole stock: counted at every look in a small shop, shown as of a moment in a large one."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import services
from inventory.models import Kind
from inventory.queries.house import dead, fullness, turns, unbilled, value
from inventory.queries.valuing import value_on
from inventory.views import fullness as fullness_view
from inventory.views import valuing
from shop import long_work
from shop.clock import now, today
from shop.models import LongWork, Tally, TallyLeaf, WorkState
from shop.tallies import Counting, count_anew, keeping
from shop.tallies.keeping import LINES_A_LEAF, QUESTIONS_KEPT
from shop.web import tallied
from shop.works import tallies as works
from tests.builders import a_drawer, a_lot, a_part, a_profile
from tests.conftest import StillClock
from tests.inventory.builders import once, texts
from tests.inventory.orders import a_bill, a_sent_order, arrive, draft_line, line_of
from tests.inventory.test_stock_value import take

PAGES = ("stock_value", "stock_turns", "dead_stock", "fullness", "unbilled")
HOMES = {"stock_value": value, "stock_turns": turns, "dead_stock": dead, "fullness": fullness, "unbilled": unbilled}
NAMES = {page: page.upper() for page in PAGES}


@pytest.fixture(autouse=True)
def _shop(db: None, still_clock: StillClock) -> None:
    a_profile()


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch) -> dict[str, Counting]:
    """A shop that is too large to be counted at every look, whatever lies in it."""
    found = {}
    for page, home in HOMES.items():
        found[page] = counting = replace(getattr(home, NAMES[page]), is_small=lambda: False)
        monkeypatch.setattr(home, NAMES[page], counting)
        monkeypatch.setitem(works.COUNTINGS, counting.page, counting)
    monkeypatch.setattr(valuing, "STOCK_VALUE", found["stock_value"])
    monkeypatch.setattr(fullness_view, "FULLNESS", found["fullness"])
    return found


def page(client: Client, name: str, query: str = "") -> str:
    answer = client.get(reverse(f"inventory:{name}") + query)
    assert answer.status_code == 200
    return texts(answer)


def filled(still_clock: StillClock) -> None:
    """One part that is used and one that lies dead."""
    a_lot(a_part(), 10, unit_cost_milli=10_000)
    a_lot(a_part("12SK7", Kind.VALVE), 2, unit_cost_milli=800_000, at=now() - timedelta(days=500))
    arrive(line_of(a_sent_order(draft_line(a_part("22 kΩ", Kind.RESISTOR)))), 6)
    still_clock.forward(days=1)
    take(a_lot(a_part("47 kΩ", Kind.RESISTOR), 30, unit_cost_milli=500), 12)


@pytest.mark.parametrize("name", PAGES)
def test_a_small_shop_is_counted_at_every_look_and_says_nothing_of_it(name: str, owner_client: Client) -> None:
    a_lot(a_part())
    shown = page(owner_client, name)
    assert "Counted" not in shown
    assert "Count now" not in shown
    assert not Tally.objects.exists()


@pytest.mark.parametrize("name", PAGES)
def test_what_was_kept_shows_what_a_look_would(
    name: str, owner_client: Client, still_clock: StillClock, request: pytest.FixtureRequest
) -> None:
    filled(still_clock)
    looked_at = main_of(owner_client, name)
    count_anew(request.getfixturevalue("large")[name], {}, now())
    before, _, after = main_of(owner_client, name).partition('<form class="tallied"')
    assert "Counted " in after
    assert before + after.partition("</form> ")[2] == looked_at


def main_of(client: Client, name: str) -> str:
    shown = page(client, name)
    return shown[shown.index("<main") :]


def test_a_page_that_was_never_counted_says_so_and_shows_no_figures(owner_client: Client, large: dict[str, Counting]) -> None:
    a_lot(a_part())
    for name in PAGES:
        shown = page(owner_client, name)
        assert "This hasn’t been counted yet." in shown
        assert "Count now" in shown
        assert "0.01 µF" not in shown


def test_figures_stand_as_of_their_moment_and_are_old_after_a_day(
    owner_client: Client, still_clock: StillClock, large: dict[str, Counting]
) -> None:
    lot = a_lot(a_part(), 10, unit_cost_milli=10_000)
    count_anew(large["stock_value"], {}, now())
    take(lot, 5)
    shown = page(owner_client, "stock_value")
    assert "£1.00" in shown
    assert "more than a day ago" not in shown
    still_clock.forward(hours=26)
    assert "more than a day ago" in page(owner_client, "stock_value")


def test_count_now_counts_in_the_background_once_and_a_stranger_may_not(
    owner_client: Client, counter_client: Client, large: dict[str, Counting]
) -> None:
    a_lot(a_part(), 10, unit_cost_milli=10_000)
    address, sent = reverse("inventory:stock_value") + "?kind=capacitance", {"once": once()}
    assert counter_client.post(address, sent).status_code == 403
    for token in (sent, sent, {"once": once()}):
        assert owner_client.post(address, token).headers["Location"] == address
    assert LongWork.objects.count() == 1
    long_work.run_waiting()
    assert LongWork.objects.get().state == WorkState.DONE
    shown = page(owner_client, "stock_value", "?kind=capacitance")
    assert "£1.00" in shown
    assert "This hasn’t been counted yet." in page(owner_client, "stock_value")


def test_count_now_without_its_token_is_refused(owner_client: Client, large: dict[str, Counting]) -> None:
    assert owner_client.post(reverse("inventory:stock_turns"), {"once": "x"}).status_code == 409
    assert not LongWork.objects.exists()


def test_a_small_shop_has_nothing_to_count_now(owner_client: Client) -> None:
    assert owner_client.post(reverse("inventory:dead_stock"), {"once": once()}).status_code == 302
    assert not LongWork.objects.exists()


def test_long_lists_are_read_a_leaf_at_a_time(
    owner_client: Client, large: dict[str, Counting], monkeypatch: pytest.MonkeyPatch
) -> None:
    for room in (keeping, tallied):
        monkeypatch.setattr(room, "LINES_A_LEAF", 5)
    for number in range(8):
        a_lot(a_part(f"{number} kΩ", Kind.RESISTOR), 1, unit_cost_milli=1000 * (number + 1))
    count_anew(large["stock_value"], {}, now())
    assert TallyLeaf.objects.count() == 2
    first, last = page(owner_client, "stock_value"), page(owner_client, "stock_value", "?page=last")
    assert "Rows 1–5 of 8" in first
    assert "Rows 6–8 of 8" in last
    assert ("7 kΩ" in first, "7 kΩ" in last) == (True, False)
    assert ("0 kΩ</a>" in last, "page=1" in last) == (True, True)
    for odd in ("?page=9999999", "?page=-1", "?page=%00", "?page=after-x"):
        assert "of 8" in page(owner_client, "stock_value", odd)


def test_a_cabinet_is_read_out_of_the_count_of_all(owner_client: Client, large: dict[str, Counting]) -> None:
    for tray in range(1, LINES_A_LEAF + 2):
        a_drawer("A", str(tray))
    a_lot(a_part(), 7, drawer=a_drawer("B", "1"))
    a_lot(a_part(), 5, drawer=a_drawer("B", "2"))
    count_anew(large["fullness"], {}, now())
    shown = page(owner_client, "fullness", "?cabinet=B")
    assert "Cabinet B, drawer by drawer" in shown
    assert "12 pieces in 2 drawers" in shown


def test_earlier_answers_and_the_oldest_questions_go(large: dict[str, Counting], still_clock: StillClock) -> None:
    a_lot(a_part())
    Tally.objects.create(page="inventory:stock_value", question="half", counted_at=now() - timedelta(days=3))
    for number in range(QUESTIONS_KEPT + 2):
        count_anew(large["stock_value"], {"day": f"2026-01-{number + 1:02}"}, now())
        count_anew(large["stock_value"], {}, now())
    kept = list(Tally.objects.values_list("question", flat=True))
    assert len(kept) == len(set(kept)) == QUESTIONS_KEPT
    assert "" in kept
    assert '{"day":"2026-01-14"}' in kept
    assert '{"day":"2026-01-01"}' not in kept
    assert TallyLeaf.objects.count() <= QUESTIONS_KEPT


def test_counted_in_pieces_it_is_worth_the_same(still_clock: StillClock, monkeypatch: pytest.MonkeyPatch) -> None:
    filled(still_clock)
    services.block_lot(a_lot(a_part("1 µF 400 V"), 3), "leaky out of the bag")
    a_lot(a_part("12SK7", Kind.VALVE), 1, unit_cost_milli=700_000, condition="used")
    whole = value.count({}, now())
    monkeypatch.setattr(value, "PARTS_AT_ONCE", 1)
    assert value.count({}, now()) == whole
    shown = value.value_shown(whole.figures)
    stands = value_on(today())
    assert (shown.total, shown.kinds) == (stands.total, stands.kinds)
    assert [line[0] for line in whole.lines] == [one.part.pk for one in stands.parts]
    assert [one.lot.pk for one in shown.blocked] == [one.lot.pk for one in stands.blocked]


def test_what_is_not_billed_stands_as_counted_and_its_file_as_it_is(owner_client: Client, large: dict[str, Counting]) -> None:
    line = line_of(a_sent_order(draft_line(a_part("22 kΩ", Kind.RESISTOR))))
    arrive(line, 6)
    count_anew(large["unbilled"], {}, now())
    assert "22 kΩ" in page(owner_client, "unbilled")
    a_bill(line, 6)
    assert "22 kΩ" in page(owner_client, "unbilled")
    saved = owner_client.get(reverse("inventory:unbilled") + "?as=csv").content.decode()
    assert "22 kΩ" not in saved
    count_anew(large["unbilled"], {}, now())
    assert "Everything is billed" in page(owner_client, "unbilled")
