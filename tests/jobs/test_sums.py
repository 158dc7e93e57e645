"""Bench sums: the page works out what the bench's own functions say, and refuses in words."""

import pytest
from django.test import Client
from django.urls import reverse

from jobs.bench.sums import SUMS
from tests.outside.facts import facts

PAGE = "/jobs/sums/"


def worked(client: Client, code: str, **figures: str) -> str:
    return client.get(PAGE, {"sum": code, **figures}).content.decode()


# source: own arithmetic on textbook relations, tests/outside/data/bench_calculations.csv
@pytest.mark.parametrize(
    ("code", "figures", "said"),
    [
        ("amps", {"volts": "7.5", "ohms": "150"}, "50 mA"),
        ("heat_by_current", {"amps": "70 mA", "ohms": "450"}, "2.205 W"),
        ("divider", {"supply": "250", "upper": "220k", "lower": "47k"}, "44.01 V"),
        ("dropper", {"supply": "250", "wanted": "100", "amps": "2 mA"}, "75 kΩ"),
        ("corner", {"ohms": "470k", "farads": "0.022 µF"}, "15.39 Hz"),
        ("resonance", {"henries": "240 µH", "farads": "365 pF"}, "537.7 kHz"),
        ("reflected", {"turns": "28", "ohms": "3.2"}, "2.509 kΩ"),
        ("metres", {"hertz": "1 MHz"}, "299.8 m"),
        ("hertz", {"metres": "49"}, "6.118 MHz"),
        ("charge", {"farads": "40 µF", "volts": "300"}, "1.8 J"),
        ("fuse", {"watts": "45 W", "line": "117"}, "576.9 mA"),
        ("meter", {"sensitivity": "20000", "range": "50"}, "1 MΩ"),
        ("decibels", {"ratio": "20"}, "26.02 dB"),
        ("line", {"volts": "120", "line": "117", "other": "125"}, "128.2 V"),
        ("battery", {"charge": "5", "amps": "20 mA"}, "250 h"),
    ],
)
def test_a_sum_is_worked_out(colleague_client: Client, code: str, figures: dict[str, str], said: str) -> None:
    assert f"<strong>{said}</strong>" in worked(colleague_client, code, **figures)


@pytest.mark.parametrize("code", SUMS)
def test_every_sum_has_its_form_and_takes_its_own_example(counter_client: Client, code: str) -> None:
    assert SUMS[code].title in worked(counter_client, code)
    assert "<strong>" in worked(counter_client, code, **{ask.name: ask.example for ask in SUMS[code].asks})


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"volts": "", "ohms": "150"}, "This field is required."),
        ({"volts": "a lot", "ohms": "150"}, "is not understood there"),
        ({"volts": "12", "ohms": "0"}, "Resistance must be above zero, like 470 Ω."),
        ({"volts": "-12", "ohms": "150"}, "Voltage across it must be above zero, like 12 V."),
    ],
)
def test_what_cant_be_worked_out_is_said(colleague_client: Client, figures: dict[str, str], said: str) -> None:
    answer = colleague_client.get(PAGE, {"sum": "amps", **figures})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert f'value="{figures["ohms"]}"' in answer.content.decode()


@pytest.mark.parametrize("typed", ["NaN", "1e99", "a dozen", "Infinity"])
def test_a_plain_number_is_a_plain_number(colleague_client: Client, typed: str) -> None:
    assert colleague_client.get(PAGE, {"sum": "decibels", "ratio": typed}).status_code == 422


def test_an_unknown_sum_shows_the_list(colleague_client: Client) -> None:
    answer = colleague_client.get(PAGE, {"sum": "perpetual motion"})
    assert answer.status_code == 200
    assert "Bench sums" in answer.content.decode()


def test_a_stranger_signs_in_first(client: Client) -> None:
    assert client.get(PAGE).headers["Location"].startswith(reverse("login"))


def test_the_published_rows_are_those_of_the_sums() -> None:
    functions = {one.work.__name__ for one in SUMS.values()}
    published = {row["function"] for row in facts("bench_calculations.csv")}
    assert published - functions == {"cord_millimetres"}
