"""A model's supply figures: written once, changed in sight of what stands, never asked for what the called-for list tells."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import RadioModel, SupplyFigures
from jobs.services.called_for import CalledRow
from jobs.services.supply import save_figures
from shop.acts import Stale
from tests.jobs.at_bench import token
from tests.jobs.supplies import SUPER, TYPED, a_super, figures_for

SENT = {
    "topology": "full-wave",
    "volts": "300 V",
    "frequency": "50 Hz",
    "source": "120",
    "choke": "15 H",
    "load": "70",
    "note": "sheet 1",
    "seen": "0",
}


@pytest.fixture
def model(db: None) -> RadioModel:
    return a_super()


def address(model: RadioModel) -> str:
    return reverse("jobs:supply_figures", args=[model.pk])


def send(client: Client, model: RadioModel, **typed: str) -> Any:
    return client.post(address(model), {"once": token(), **SENT, **typed})


def test_they_are_written_in_trade_notation(counter_client: Client, model: RadioModel) -> None:
    assert "Write its figures" in counter_client.get(reverse("jobs:model", args=[model.pk])).content.decode()
    assert send(counter_client, model).headers["Location"] == reverse("jobs:model", args=[model.pk])
    kept = SupplyFigures.objects.get()
    assert (kept.volts_rms, kept.source_ohms, kept.choke_h, kept.load_amps) == (300, 120, 15, 0.07)
    assert (kept.rectifier, kept.choke_ohms, kept.version) == ("", 0, 1)
    assert "Full-wave, 300 V: its figures" in counter_client.get(reverse("jobs:model", args=[model.pk])).content.decode()


def test_what_the_list_tells_is_shown_and_not_asked(counter_client: Client, model: RadioModel) -> None:
    page = counter_client.get(address(model)).content.decode()
    for label, text, place in (
        ("Reservoir", "20 µF 450 V", "C3"),
        ("Rectifier", "5Y3-GT", "V5"),
        ("Resistance between the capacitors", "1.5 kΩ", "L1"),
    ):
        assert f'<dt>{label}</dt><dd><span class="notation">{text}</span> {place}</dd>' in page
    assert 'name="rectifier"' not in page
    assert 'name="choke_ohms"' not in page
    assert 'name="choke"' in page


def test_what_the_list_lacks_is_asked(counter_client: Client, db: None) -> None:
    bare = a_super("Bare 1", SUPER[1:2])
    page = counter_client.get(address(bare)).content.decode()
    assert 'name="rectifier"' in page
    assert 'name="choke_ohms"' in page
    send(counter_client, bare, rectifier="EZ80", choke="", choke_ohms="1k2")
    kept = SupplyFigures.objects.get()
    assert (kept.rectifier, kept.choke_h, kept.choke_ohms) == ("EZ80", 0, 1200)


def test_a_dropper_between_both_capacitors_is_the_filter_resistor(counter_client: Client, db: None) -> None:
    rows = (SUPER[0], SUPER[1], CalledRow("R6", "dropper", "1K 5W"), SUPER[3], CalledRow("R4", "dropper", "22K 1W"))
    page = counter_client.get(address(a_super("Dropper 2", rows))).content.decode()
    assert '<span class="notation">1 kΩ</span> R6' in page


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"topology": ""}, "This field is required."),
        ({"volts": "a lot"}, "is not understood there"),
        ({"volts": "9000 V"}, "AC voltage 9000 V is beyond what is computed. Accepted: 1 to 5000 V rms per half."),
        ({"frequency": "1 MHz"}, "Frequency 1000000 Hz is beyond what is computed. Accepted: 10 to 1000 Hz."),
        ({"load": "0"}, "Load current 0 A is beyond what is computed."),
        ({"source": "-5"}, "’-5’ is beyond any resistance a radio has."),
    ],
)
def test_what_can_not_be_is_refused_and_everything_typed_is_kept(
    counter_client: Client, model: RadioModel, odd: dict[str, str], says: str
) -> None:
    answer = send(counter_client, model, **odd)
    page = answer.content.decode().replace("&#x27;", "’").replace("'", "’")
    assert answer.status_code == 422
    assert says in page
    assert 'value="sheet 1"' in page
    assert not SupplyFigures.objects.exists()


def test_an_unknown_rectifier_is_refused_at_its_field(counter_client: Client, db: None) -> None:
    answer = send(counter_client, a_super("Bare 1", SUPER[1:2]), rectifier="QQ7")
    assert answer.status_code == 422
    assert "No voltage drop is on file for “QQ7”." in answer.content.decode()


def test_a_value_that_reads_two_ways_is_asked_about(counter_client: Client, model: RadioModel) -> None:
    answer = send(counter_client, model, choke="1,500 mH")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Which did you mean?" in page
    assert 'name="reading-choke" value="1.5 H"' in page
    assert send(counter_client, model, choke="1,500 mH", **{"reading-choke": "1.5 H"}).status_code == 302
    assert SupplyFigures.objects.get().choke_h == 1.5


def test_the_same_form_sent_twice_writes_once(counter_client: Client, model: RadioModel) -> None:
    typed = {"once": token(), **SENT}
    for _ in range(2):
        assert counter_client.post(address(model), typed).status_code == 302
    assert SupplyFigures.objects.get().version == 1


def test_of_two_editors_the_second_is_told_and_sees_what_stands(counter_client: Client, model: RadioModel) -> None:
    figures_for(model)
    answer = send(counter_client, model, volts="320 V")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody else wrote these figures since you opened them. Compare, then send again." in page
    assert "<dt>AC voltage</dt><dd>300 V</dd>" in page
    assert 'value="320 V"' in page
    assert 'name="seen" value="1"' in page
    assert send(counter_client, model, volts="320 V", seen="1").status_code == 302
    assert SupplyFigures.objects.get().volts_rms == 320


def test_a_change_starts_from_what_stands(counter_client: Client, model: RadioModel) -> None:
    figures_for(model)
    page = counter_client.get(address(model)).content.decode()
    for value in ("300 V", "50 Hz", "120 Ω", "15 H", "70 mA", "sheet 1"):
        assert f'value="{value}"' in page
    with pytest.raises(Stale):
        save_figures(model, TYPED, seen=0)


def test_strangers_sign_in_first(client: Client, model: RadioModel) -> None:
    assert client.get(address(model)).headers["Location"].startswith(reverse("login"))
    assert send(client, model).headers["Location"].startswith(reverse("login"))
    assert not SupplyFigures.objects.exists()


def test_a_long_list_costs_no_more_queries(
    counter_client: Client, model: RadioModel, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    long = a_super("Long 50", (*SUPER, *(CalledRow(f"R{at}", "plate_load", "100K") for at in range(50))))
    for one in (model, long):
        with django_assert_max_num_queries(8):
            counter_client.get(address(one))
