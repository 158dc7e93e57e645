"""Make a value from what lies in the drawers: asked by anybody, changes nothing."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Kind
from tests.builders import a_drawer, a_lot, a_part, a_profile
from tests.inventory.builders import errors_of, texts

ADDRESS = "inventory:make_up"


@pytest.fixture(autouse=True)
def _shop(db: None) -> None:
    a_profile()


def asked(client: Client, status: int = 200, **typed: str) -> str:
    answer = client.get(reverse(ADDRESS), {"kind": "resistance", **typed})
    assert answer.status_code == status
    return texts(answer)


def a_resistor(marking: str, count: int = 10) -> None:
    a_lot(a_part(f"{marking} 1W 5%", Kind.RESISTOR, "carbon_film"), count, drawer=a_drawer("R", marking))


def test_it_starts_with_what_to_type(owner_client: Client) -> None:
    text = texts(owner_client.get(reverse(ADDRESS)))
    assert "two in series and two in parallel" in text
    assert "Caution: connected to the line" in text


def test_single_series_and_parallel_are_found_with_their_drawers(owner_client: Client) -> None:
    for marking in ("4.7K", "2.4K", "9.1K"):
        a_resistor(marking)
    text = asked(owner_client, wanted="4.7K 1W 10%")
    for words in ("drawer R / 4.7K", "2 × 2.4K 1W 5% carbon film: drawer R / 2.4K", "in parallel", "2 × 9.1K"):
        assert words in text


def test_what_is_typed_apart_wins(owner_client: Client) -> None:
    a_resistor("2.4K")
    assert "2 × 2.4K" in asked(owner_client, wanted="4.7K 1W", watts="2")
    assert "No two make it in series." in asked(owner_client, wanted="4.7K 1W", watts="5")


def test_an_electrolytic_is_taken_only_where_it_may_stand(owner_client: Client) -> None:
    a_lot(a_part("20 µF 450 V ±20 %", technology="electrolytic", polarised=True))
    typed = {"kind": "capacitance", "wanted": "10 µF 600 V"}
    assert "No two make it in series." in asked(owner_client, **typed)
    assert "balancing resistor" in asked(owner_client, **typed, polarised="on")


def test_what_is_all_held_or_blocked_or_one_piece_short_is_not_offered(owner_client: Client) -> None:
    a_resistor("2.4K", 1)
    assert "No two make it in series." in asked(owner_client, wanted="4.7K 1W")


def test_two_single_pieces_of_two_lots_make_a_pair(owner_client: Client) -> None:
    part = a_part("2.4K 1W 5%", Kind.RESISTOR)
    for tray in ("1", "2"):
        a_lot(part, 1, drawer=a_drawer("R", tray))
    text = asked(owner_client, wanted="4.7K 1W")
    assert "1 × 2.4K 1W 5%: drawer R / 1" in text
    assert "1 × 2.4K 1W 5%: drawer R / 2" in text


def test_a_doubtful_value_is_asked_about(owner_client: Client) -> None:
    answer = owner_client.get(reverse(ADDRESS), {"kind": "capacitance", "wanted": "103"})
    assert answer.status_code == 422
    assert "Which is meant?" in texts(answer)
    assert "10 nF, the value wanted" not in texts(answer)
    assert "It is 10 nF" in texts(answer)
    a_lot(a_part("0.01 µF 630 V"))
    chosen = owner_client.get(reverse(ADDRESS), {"kind": "capacitance", "wanted": "103", "reading-wanted": "10 nF"})
    assert "It makes 10 nF, the value wanted." in texts(chosen)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"wanted": ""}, "wanted"),
        ({"wanted": "no such thing"}, "wanted"),
        ({"wanted": "0"}, "wanted"),
        ({"wanted": "9" * 70}, "wanted"),
        ({"wanted": "4.7K", "kind": "valve"}, "kind"),
        ({"wanted": "4.7K", "tolerance": "very good"}, "tolerance"),
        ({"wanted": "4.7K", "watts": "-1"}, "watts"),
        ({"wanted": "40+20 µF 450 V", "kind": "capacitance"}, "wanted"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_field(owner_client: Client, typed: dict[str, str], field: str) -> None:
    answer = owner_client.get(reverse(ADDRESS), {"kind": "resistance", **typed})
    assert answer.status_code == 422
    assert field in errors_of(answer)


def test_every_role_may_ask_and_a_stranger_may_not(counter_client: Client, stranger_client: Client) -> None:
    assert counter_client.get(reverse(ADDRESS)).status_code == 200
    assert stranger_client.get(reverse(ADDRESS)).headers["Location"].startswith(reverse("login"))
