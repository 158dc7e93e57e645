"""The page that reads colours: every scheme, plain links and GET forms, refusals in words, and the way back."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from inventory.components.colours.reading import read_colours
from inventory.components.colours.schemes import scheme_named, scheme_names
from inventory.components.notation import write_spec
from tests.builders import a_part, a_profile
from tests.inventory.builders import texts

pytestmark = pytest.mark.django_db


def chosen(scheme: str, *colours: str) -> dict[str, str]:
    return {"scheme": scheme, **{f"c{number}": colour for number, colour in enumerate(colours, 1)}}


def look(client: Client, **asked: str) -> Any:
    return client.get(reverse("inventory:colours"), asked)


def test_everybody_signed_in_reads_it_and_a_stranger_signs_in_first(
    owner_client: Client, colleague_client: Client, counter_client: Client, stranger_client: Client
) -> None:
    for client in (owner_client, colleague_client, counter_client):
        assert look(client).status_code == 200
    assert look(stranger_client).headers["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("scheme", scheme_names())
def test_the_empty_page_teaches_by_an_example_that_can_be_opened(scheme: str, colleague_client: Client) -> None:
    page = texts(look(colleague_client, scheme=scheme))
    example = scheme_named(scheme).example
    assert "No colour is chosen yet." in page
    assert escape(scheme_named(scheme).hint) in page
    opened = look(colleague_client, **chosen(scheme, *example))
    assert opened.status_code == 200
    assert write_spec(read_colours(scheme, example), farads="modern") in texts(opened)


def test_chosen_colours_give_value_reasons_and_the_way_to_the_drawers(colleague_client: Client) -> None:
    page = texts(look(colleague_client, **chosen("iec60062", "red", "violet", "gold", "gold")))
    assert "2.7 Ω ±5 %" in page
    assert "4 bands: red 2, violet 7, gold × 0.1, gold ±5 %." in page
    assert "A preferred value, of series E12." in page
    assert f"{reverse('inventory:parts')}?q=2.7+%CE%A9&amp;kind=resistance" in page


def test_the_link_to_the_drawers_finds_the_part(colleague_client: Client) -> None:
    a_profile()
    a_part("2.7 Ω 1/2 W", "resistance")
    a_part("27 Ω 1/2 W", "resistance")
    address = look(colleague_client, **chosen("iec60062", "red", "violet", "gold", "gold")).context["shown"].parts
    assert [part.title for part in colleague_client.get(address).context["table"].data] == ["2.7 Ω 1/2 W"]


def test_a_value_in_no_series_names_the_preferred_one_beside_it(colleague_client: Client) -> None:
    page = texts(look(colleague_client, **chosen("body_end_dot", "red", "green", "orange", "none")))
    assert "25 kΩ ±20 %" in page
    assert "The nearest in E24 is 24 kΩ (4 % below)." in page


def test_a_refusal_says_why_and_keeps_what_was_chosen(colleague_client: Client) -> None:
    answer = look(colleague_client, **chosen("iec60062", "gold", "gold", "violet", "red"))
    page = texts(answer)
    assert answer.status_code == 422
    assert (
        "First figure: gold says nothing here. Use black, brown, red, orange, yellow, green, blue, violet, grey, white. "
        "From the other end it reads red, violet, gold, gold: 2.7 Ω ±5 %."
    ) in page
    for kept in ('value="gold" id="c1-gold"', 'value="violet" id="c3-violet"', 'value="red" id="c4-red"'):
        assert f"{kept} checked" in page
    assert "?scheme=iec60062&amp;c1=red&amp;c2=violet&amp;c3=gold&amp;c4=gold" in page


def test_ends_that_read_both_ways_are_both_shown(colleague_client: Client) -> None:
    page = texts(look(colleague_client, **chosen("body_end_dot", "red", "green", "orange", "violet")))
    assert 'If the green end is the second figure: <span class="notation">25 kΩ ±20 %</span>' in page
    assert 'If the violet end is the second figure: <span class="notation">27 kΩ ±20 %</span>' in page


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"scheme": "stripes"}, "“stripes” is no marking by colour. Use iec60062, body_end_dot,"),
        (chosen("iec60062", "<b>", "red", "red"), "“&lt;b&gt;” is no colour of the code."),
        (chosen("iec60062", "red"), "Named 1 of the colours, which is too few."),
        (chosen("iec60062", "r" * 5000), "is too long for a colour."),
        ({"value": "soup"}, "soup"),
        ({"value": "4753"}, "4.753 kΩ needs more than three figures. The nearest that can be marked is 4.75 kΩ."),
        ({"value": ""}, "This field is required."),
        ({"value": "4k7", "tolerance": "7"}, "Select a valid choice. 7 is not one of the available choices."),
        ({"scheme": "mica_5_dot", "value": "47 pF", "volts": "soup"}, "soup"),
    ],
)
def test_anything_in_the_address_is_answered_in_words(asked: dict[str, str], said: str, colleague_client: Client) -> None:
    answer = look(colleague_client, **asked)
    assert answer.status_code == 422
    assert said in texts(answer)


def test_a_doubtful_value_offers_its_readings_as_links(colleague_client: Client) -> None:
    answer = look(colleague_client, scheme="mica_3_dot", value="103")
    assert "Which value is meant?" in texts(answer)
    readings = answer.context["readings"]
    assert len(readings) > 1
    assert any(look(colleague_client, scheme="mica_3_dot", value=text).status_code == 200 for text, _ in readings)


def test_the_way_back_shows_named_swatches_and_opens_in_the_picker(colleague_client: Client) -> None:
    answer = look(colleague_client, scheme="body_end_dot", value="25k", tolerance="5")
    page = texts(answer)
    for place, colour in (("Body", "red"), ("End", "green"), ("Dot", "orange"), ("Other end", "gold")):
        assert f"{place}: <strong>{colour}</strong>" in page
    opened = colleague_client.get(f"{reverse('inventory:colours')}?{answer.context['back'].query}")
    assert "25 kΩ ±5 %" in texts(opened)


def test_a_voltage_is_marked_where_the_scheme_has_a_place_for_it(colleague_client: Client) -> None:
    answer = look(colleague_client, scheme="moulded_paper", value="0.1 µF 400 V", tolerance="10", volts="400")
    assert answer.context["back"].colours == ("brown", "black", "yellow", "silver", "yellow", "none")
    assert "volts" not in look(colleague_client).context["back"].fields


def test_a_script_gets_the_piece_alone(colleague_client: Client) -> None:
    asked = chosen("mica_3_dot", "red", "green", "black")
    piece = colleague_client.get(reverse("inventory:colours"), asked, headers={"HX-Request": "true"})
    assert "25 pF ±20 % 500 V" in texts(piece)
    assert "<h1" not in texts(piece)


def test_every_swatch_bears_its_name_and_the_groups_are_plain_radio_buttons(colleague_client: Client) -> None:
    page = texts(look(colleague_client, scheme="mica_6_dot"))
    assert page.count('type="radio"') == page.count('class="swatch-words"')
    for colour in ("black", "white", "silver", "none"):
        assert f'name="c1" value="{colour}"' in page
    assert '<span class="swatch-words">violet' in page


def test_the_number_of_queries_does_not_grow(colleague_client: Client, django_assert_num_queries) -> None:
    a_profile()
    asked = chosen("iec60062", "red", "violet", "gold", "gold")
    look(colleague_client, **asked)
    for number in range(50):
        a_part(f"{number + 1} Ω 1/2 W", "resistance")
    with django_assert_num_queries(4):  # the session, the person, the place where they are signed in, the profile
        look(colleague_client, **asked)
