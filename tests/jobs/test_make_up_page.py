"""A position's value made up from two parts: the page, fitting both as one, and every refusal."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from inventory import services as stock
from inventory.models import Kind, Lot, Movement, Part
from jobs.models import Decision, Job, Position, Stage
from jobs.queries.making_up import ways_for
from jobs.queries.sheet import position_state
from jobs.services import log
from jobs.services.called_for import CalledRow
from jobs.views.job_frame import load_job
from shop.models import Staff
from tests.builders import a_drawer, a_job, a_lot, a_model, a_part, author, drawer_of, position_of
from tests.conftest import signed_in
from tests.jobs.at_bench import token

ROWS = (
    CalledRow("R1", "dropper", "4.7K 1W 10%"),
    CalledRow("C1", "line_to_chassis", "0.01 µF 250 V"),
    CalledRow("C2", "smoothing", "10 µF 600 V"),
    CalledRow("C3", "reservoir", "40+20 µF 450 V"),
    CalledRow("C4", "aerial_isolation", "0.0022 µF"),
    CalledRow("V1", "valve", "12SK7"),
    CalledRow("R9", "plate_load", ""),
)


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING, model=a_model("Plover", rows=ROWS), with_fit=False)


def a_resistor(marking: str) -> Part:
    return a_part(f"{marking} 1W 5%", Kind.RESISTOR, "carbon_film", list_price_minor=20)


def page(client: Client, place: Position) -> str:
    return " ".join(client.get(reverse("jobs:make_up", args=[place.pk])).content.decode().split())


def offer(lot: Lot) -> str:
    return f"{lot.pk}:{drawer_of(lot).pk}"


def fit_pair(client: Client, place: Position, way: str, seen: int | None = None, **more: Any) -> HttpResponse:
    last = position_state(place).last_seq if seen is None else seen
    data = {"once": token(), "seen": last, "way": way, **more}
    return client.post(reverse("jobs:fit_pair", args=[place.pk]), data)  # type: ignore[return-value]


def test_the_page_shows_both_ways_with_where_each_piece_lies(colleague_client: Client, job: Job) -> None:
    a_lot(a_resistor("2.4K"), 5, drawer=a_drawer("R", "24"))
    a_lot(a_resistor("9.1K"), drawer=a_drawer("R", "91"))
    text = page(colleague_client, position_of(job, "R1"))
    for words in (
        "4.8 kΩ, in series, ±5 %",
        "2 × 2.4K 1W 5% carbon film: drawer R / 24, 5 free, £0.20 each (list price).",
        "It makes 4.8 kΩ, 2.1 % above the 4.7 kΩ wanted.",
        "Of 1 W they get rid of 0.5 W and 0.5 W.",
        "4.55 kΩ, in parallel",
        "Fit both",
    ):
        assert words in text


def test_a_single_part_is_shown_first_and_fitted_from_the_position(colleague_client: Client, job: Job) -> None:
    a_lot(a_resistor("4.7K"))
    place = position_of(job, "R1")
    text = page(colleague_client, place)
    assert "Fit it from R1" in text
    assert f'href="{reverse("jobs:position", args=[place.pk])}#fit"' in text


def test_fitting_both_is_one_act_with_two_entries_and_two_movements(colleague_client: Client, colleague: Staff, job: Job) -> None:
    lot, place = a_lot(a_resistor("2.4K"), 5), position_of(job, "R1")
    (way,) = ways_for(position_state(place), job).series
    assert way.name == f"series {offer(lot)},{offer(lot)}"
    assert fit_pair(colleague_client, place, way.name, note="leads sleeved").status_code == 302
    fitted = position_state(place).fitted
    assert [entry.note for entry in fitted] == ["half of 2 in series making 4.8 kΩ; leads sleeved"] * 2
    assert [(entry.answer, entry.count, entry.override_reason, entry.person) for entry in fitted] == [
        ("yes", 1, "", colleague)
    ] * 2
    assert [entry.movement.count for entry in fitted] == [-1, -1]
    assert lot.balances.get().on_hand == 3


def test_the_same_form_twice_fits_once(colleague_client: Client, job: Job) -> None:
    lot, place = a_lot(a_resistor("2.4K"), 5), position_of(job, "R1")
    once = token()
    for _ in range(2):
        fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}", seen=0, once=once)
    assert len(position_state(place).fitted) == 2


def test_where_one_piece_is_gone_nothing_is_fitted(colleague_client: Client, job: Job) -> None:
    lot, place = a_lot(a_resistor("2.4K"), 2), position_of(job, "R1")
    stock.scrap(lot, drawer_of(lot), 1, reason="bent", person=author().person, at=author().at)
    answer = fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}", note="typed")
    assert answer.status_code == 422
    assert "1 is wanted" in answer.content.decode()
    assert 'value="typed"' in answer.content.decode()
    assert not position_state(place).fitted
    assert not Movement.objects.filter(lot=lot, kind="fitted").exists()


def test_the_second_of_two_editors_is_told(colleague_client: Client, job: Job, owner: Staff) -> None:
    lot, place = a_lot(a_resistor("2.4K"), 5), position_of(job, "R1")
    log.decide(place, Decision.REPLACE, log.Author(owner, author().at))
    answer = fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}", seen=0)
    assert "Since you opened R1, Orla Quillfeather wrote" in answer.content.decode()
    assert not position_state(place).fitted


def test_a_pair_that_makes_another_value_is_refused(colleague_client: Client, job: Job) -> None:
    lot, place = a_lot(a_resistor("10K"), 5), position_of(job, "R1")
    answer = fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}")
    assert answer.status_code == 422
    assert "will not do at R1" in answer.content.decode()
    assert not position_state(place).fitted


def test_the_hold_of_the_position_ends_when_a_pair_goes_in(colleague_client: Client, job: Job) -> None:
    place, planned, lot = position_of(job, "R1"), a_lot(a_resistor("5.1K")), a_lot(a_resistor("2.4K"))
    log.decide(place, Decision.REPLACE, author(), plan=log.Plan(planned.part, 1, planned, drawer_of(planned)))
    assert fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}").status_code == 302
    assert planned.balances.get().held == 0


@pytest.mark.parametrize("way", ["", "series", "series 1:1", "round 1:1,2:2", "series 1:1,x:2", "series 9:9,9:9"])
def test_a_way_that_names_nothing_is_refused(colleague_client: Client, job: Job, way: str) -> None:
    assert fit_pair(colleague_client, position_of(job, "R1"), way).status_code == 422


@pytest.mark.parametrize(
    ("designator", "said"),
    [
        ("C1", "Two parts are never joined from the line to the chassis"),
        ("C3", "C3 calls for a can of 2 sections. Make up each section by itself."),
        ("V1", "Only resistors and capacitors are made up from two parts; V1 takes neither."),
        ("R9", "What R9 is called for can&#x27;t be read as a value. Amend the called-for entry first."),
    ],
)
def test_where_nothing_is_made_up_the_page_says_why(colleague_client: Client, job: Job, designator: str, said: str) -> None:
    lot = a_lot(a_part("0.02 µF 250 V Y2"))
    place = position_of(job, designator)
    assert said in page(colleague_client, place)
    assert fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}").status_code == 422
    assert not position_state(place).fitted


def test_electrolytics_in_series_are_offered_with_care(colleague_client: Client, job: Job) -> None:
    a_lot(a_part("20 µF 450 V ±20 %", technology="electrolytic", polarised=True), 4)
    text = page(colleague_client, position_of(job, "C2"))
    for words in ("With care", "Of 600 V they take 300 V and 300 V.", "balancing resistor", "never back to back"):
        assert words in text


def test_what_was_measured_under_power_is_shared_out(colleague_client: Client, job: Job) -> None:
    """150 V across 4.7 kΩ are 4.8 W: two of 1 W can't bear them, two of 5 W get rid of half each."""
    place = position_of(job, "R1")
    log.record_voltage(place, "across", "150", author())
    a_lot(a_resistor("2.4K"))
    assert "No two make it in series." in page(colleague_client, place)
    a_lot(a_part("2.4K 5W 5%", Kind.RESISTOR, "wirewound"))
    assert "Of 4.79 W they get rid of 2.39 W and 2.39 W." in page(colleague_client, place)


def test_two_of_class_y_in_series_do_where_a_socket_can_be_touched(job: Job) -> None:
    """The one place where the rules let two safety capacitors stand in for one of a higher class."""
    y2, x2 = a_lot(a_part("0.0047 µF 250 V Y2")), a_lot(a_part("0.0044 µF 275 V X2"))
    ways = ways_for(position_state(position_of(job, "C4")), job)
    assert [{part.id for part in way.made.parts} for way in ways.series] == [{y2.part_id}]
    assert not ways.parallel
    assert x2.part_id not in {part.id for way in ways.single for part in way.made.parts}


def test_a_film_capacitor_is_not_put_in_series_with_an_electrolytic(colleague_client: Client, job: Job) -> None:
    can = a_lot(a_part("20 µF 450 V", technology="electrolytic", polarised=True))
    film = a_lot(a_part("20 µF 630 V"))
    answer = fit_pair(colleague_client, position_of(job, "C2"), f"series {offer(can)},{offer(film)}")
    assert "An electrolytic and another capacitor are not put in series." in answer.content.decode()


def test_before_the_bench_one_may_look_and_not_fit(colleague_client: Client) -> None:
    job = a_job(Stage.INSPECTING, model=a_model("Plover", rows=ROWS), with_fit=False)
    lot, place = a_lot(a_resistor("2.4K")), position_of(job, "R1")
    text = page(colleague_client, place)
    assert "4.8 kΩ, in series" in text
    assert "Fit both" not in text
    assert fit_pair(colleague_client, place, f"series {offer(lot)},{offer(lot)}").status_code == 422


def test_the_counter_may_look_and_not_fit_and_a_stranger_neither(counter: Staff, stranger_client: Client, job: Job) -> None:
    lot, place, client = a_lot(a_resistor("2.4K")), position_of(job, "R1"), signed_in(counter)
    assert "Fit both" not in page(client, place)
    assert fit_pair(client, place, f"series {offer(lot)},{offer(lot)}").status_code == 403
    assert stranger_client.get(reverse("jobs:make_up", args=[place.pk])).headers["Location"].startswith(reverse("login"))


def test_the_positions_page_leads_here(colleague_client: Client, job: Job) -> None:
    place = position_of(job, "R1")
    link = reverse("jobs:make_up", args=[place.pk])
    assert link in colleague_client.get(reverse("jobs:position", args=[place.pk])).content.decode()
    valve = position_of(job, "V1")
    assert "make-up" not in colleague_client.get(reverse("jobs:position", args=[valve.pk])).content.decode()


@pytest.mark.parametrize("lots", [1, 50])
def test_the_number_of_queries_does_not_grow(lots: int, job: Job, django_assert_max_num_queries: DjangoAssertNumQueries) -> None:
    for number in range(lots):
        a_lot(a_resistor(f"{2.3 + number / 100:.2f}K"))
    state, loaded = position_state(position_of(job, "R1")), load_job(job.pk)
    with django_assert_max_num_queries(5):
        assert ways_for(state, loaded).series
