"""Writing and correcting the card of a part: the marking is read, never guessed."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.forms.part import values_of
from inventory.models import Kind, Part
from tests.builders import a_drawer, a_lot, a_part, a_profile
from tests.inventory.builders import errors_of, part_form, texts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def write(client: Client, **typed: Any) -> Any:
    return client.post(reverse("inventory:part_new"), part_form(**typed))


def written(client: Client, **typed: Any) -> Part:
    answer = write(client, **typed)
    assert answer.status_code == 302, errors_of(answer)
    return Part.objects.latest("pk")


@pytest.mark.parametrize(
    ("typed", "value", "volts", "watts", "band", "safety"),
    [
        ({"marking": ".047 MFD 600V"}, 4.7e-8, 600, None, (None, None), ""),
        ({"kind": "resistance", "technology": "", "marking": "470K 1/2W 10%"}, 470e3, None, 0.5, (-10, 10), ""),
        ({"marking": "4n7 X1/Y2 250 V"}, 4.7e-9, 250, None, (None, None), "X1/Y2"),
        (
            {"marking": "4n7 250 V", "volts": "400", "tolerance": "-20/+80", "safety_class": "y2"},
            4.7e-9,
            400,
            None,
            (-20, 80),
            "Y2",
        ),
        ({"kind": "valve", "technology": "", "marking": "12SK7"}, None, None, None, (None, None), ""),
        ({"kind": "lamp", "technology": "", "marking": "No. 47", "volts": "6.3 V"}, None, 6.3, None, (None, None), ""),
    ],
)
def test_the_marking_fills_what_it_carries_and_what_is_typed_apart_wins(
    typed: dict[str, str],
    value: float | None,
    volts: float | None,
    watts: float | None,
    band: tuple[float | None, float | None],
    safety: str,
    colleague_client: Client,
) -> None:
    part = written(colleague_client, **typed)
    assert part.value_si == (pytest.approx(value) if value else None)
    assert (part.volts, part.watts, part.safety_class) == (volts, watts, safety)
    assert (part.tolerance_low, part.tolerance_high) == band


@pytest.mark.parametrize(
    ("made", "said", "polarised"),
    [("electrolytic", "", True), ("film", "", False), ("electrolytic", "no", False), ("film", "yes", True)],
)
def test_electrolytics_are_polarised_unless_said_otherwise(
    made: str, said: str, polarised: bool, colleague_client: Client
) -> None:
    part = written(colleague_client, marking="47 µF 160 V", technology=made, polarised=said)
    assert part.polarised is polarised


def test_a_marking_that_can_be_read_in_two_ways_is_asked_about(colleague_client: Client) -> None:
    answer = write(colleague_client, marking="50 500V")
    assert answer.status_code == 422
    assert [text for _, text, _ in answer.context["form"].readings] == ["50 pF 500 V", "50 µF 500 V"]
    assert 'value="50 500V"' in answer.content.decode()
    assert not Part.objects.exists()


def test_the_reading_chosen_is_written_out_in_full(colleague_client: Client) -> None:
    part = written(colleague_client, marking="50 500V", **{"reading-marking": "50 pF 500 V"})
    assert (part.marking, part.volts) == ("50 pF 500 V", 500)
    assert part.value_si == pytest.approx(50e-12)


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        (
            {"marking": "hello"},
            "marking",
            "'hello' is not understood there. Write the value like 50 nF 600 V or 470 kΩ 1/2 W 10 %.",
        ),
        ({"marking": "4K7"}, "marking", "That can't be read as a capacitance. Write it like 50 nF 600 V."),
        (
            {"safety_class": "Q7"},
            "safety_class",
            "“Q7” is no safety class. Known are X1, X2, X3, Y1, Y2, Y3, Y4, and two joined: X1/Y2.",
        ),
        ({"tolerance": "wide"}, "tolerance", "Write a tolerance like 10, or -20/+80."),
        ({"tolerance": "900"}, "tolerance", "No part has a tolerance as wide as that. Write it in percent, like 10 or -20/+80."),
        ({"list_price": "-5"}, "list_price", "A sum can't be below zero here."),
        ({"minimum": "-1"}, "minimum", "Ensure this value is greater than or equal to 0."),
    ],
)
def test_bad_input_is_refused_in_words_and_kept(typed: dict[str, str], field: str, text: str, colleague_client: Client) -> None:
    answer = write(colleague_client, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert not Part.objects.exists()


def test_the_same_form_sent_twice_writes_one_card(colleague_client: Client) -> None:
    form = part_form()
    for _ in range(2):
        assert colleague_client.post(reverse("inventory:part_new"), form).status_code == 302
    assert Part.objects.count() == 1


def test_a_second_card_for_the_same_part_is_refused_however_its_value_is_written(colleague_client: Client) -> None:
    written(colleague_client, marking="0.047 µF 630 V")
    answer = write(colleague_client, marking="47n 630V")
    assert errors_of(answer)["marking"] == [
        "There is a card for 0.047 µF 630 V film already. "
        "Receive parts on that one, or say in the description how this one differs."
    ]
    assert written(colleague_client, marking="47n 630V", description="radial").description == "radial"


def change(client: Client, part: Part, **typed: Any) -> Any:
    """Sends back what the form starts with, but for what is typed."""
    start = {name: value for name, value in values_of(part).items() if value not in (None, False)}
    return client.post(reverse("inventory:part_change", args=[part.pk]), {**part_form(seen=part.version, **start), **typed})


def test_a_card_is_corrected(colleague_client: Client) -> None:
    part = a_part("0.047 µF 630 V")
    assert change(colleague_client, part, description="axial", minimum="5").status_code == 302
    part.refresh_from_db()
    assert (part.description, part.minimum, part.version) == ("axial", 5, 2)


def test_a_new_marking_of_a_part_that_moved_must_be_meant_as_a_correction(colleague_client: Client) -> None:
    part = a_part("0.047 µF 630 V")
    a_lot(part)
    answer = change(colleague_client, part, marking="0.047 µF 400 V")
    assert errors_of(answer) == {
        "is_correction": ["Parts with this card have moved already. Tick this if only the card was wrong, or write a new card."]
    }
    assert change(colleague_client, part, marking="0.047 µF 400 V", is_correction="on").status_code == 302
    part.refresh_from_db()
    assert (part.marking, part.volts) == ("0.047 µF 400 V", 400)


def test_a_rating_typed_apart_stays_when_the_marking_is_corrected(colleague_client: Client) -> None:
    part = written(colleague_client, marking="0.047 µF", volts="630")
    assert change(colleague_client, part, marking="0.05 µF", volts="630").status_code == 302
    part.refresh_from_db()
    assert (part.marking, part.volts) == ("0.05 µF", 630)


def test_a_new_reserve_needs_no_such_word(colleague_client: Client) -> None:
    part = a_part("0.047 µF 630 V")
    a_lot(part)
    assert change(colleague_client, part, minimum="7").status_code == 302


def test_the_second_of_two_editors_is_told_what_stands_and_loses_nothing(colleague_client: Client, owner_client: Client) -> None:
    part = a_part("0.047 µF 630 V")
    assert change(owner_client, part, description="axial").status_code == 302
    answer = change(colleague_client, part, description="radial, 15 mm")
    assert answer.status_code == 422
    page = texts(answer)
    assert "Somebody else changed this part since you opened it." in page
    assert "axial" in page
    assert "radial, 15 mm" in page
    part.refresh_from_db()
    assert part.description == "axial"
    assert change(colleague_client, part, description="radial, 15 mm").status_code == 302


def test_what_is_no_longer_kept_is_not_listed(colleague_client: Client) -> None:
    part = a_part("6V6", Kind.VALVE)
    form = part_form(kind="valve", technology="", marking="6V6", seen="1", polarised="no")
    assert colleague_client.post(reverse("inventory:part_change", args=[part.pk]), form).status_code == 302
    part.refresh_from_db()
    assert not part.in_use
    assert "6V6" not in texts(colleague_client.get(reverse("inventory:parts")))


def test_hostile_text_is_only_text(colleague_client: Client) -> None:
    part = written(colleague_client, kind="other", technology="", marking="<script>alert(1)</script>", description="“&<b>")
    a_lot(part, drawer=a_drawer())
    for name in ("inventory:parts", "inventory:movements"):
        assert "<script>alert" not in colleague_client.get(reverse(name)).content.decode()
    assert "<script>alert" not in colleague_client.get(reverse("inventory:part", args=[part.pk])).content.decode()
