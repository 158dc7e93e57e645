"""The power supply's page: called for, found and candidate side by side, by the same computation as everywhere."""

from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Kind
from jobs.bench.supply import Supply, compute, rectifier_law
from jobs.bench.supply_compare import amount
from jobs.models import Job, Stage
from jobs.queries.supply import FIELD_OF_ROLE
from jobs.services import log
from jobs.services.called_for import CalledRow, add_position
from jobs.services.supply import TypedFigures
from tests.builders import a_job, a_lot, a_part, author, drawer_of, position_of
from tests.jobs.supplies import SUPER, a_job_with_supply


@pytest.fixture
def job(db: None) -> Job:
    return a_job_with_supply()


def page(client: Client, job: Job, **query: str) -> str:
    return unescape(client.get(reverse("jobs:supply", args=[job.pk], query=query)).content.decode())


def cells(shown: str, what: str) -> list[str]:
    """The cells of one line, without tags."""
    row = shown.partition(f'<th scope="row">{what}</th>')[2].partition("</tr>")[0]
    return [" ".join(_plain(part.partition(">")[2]).split()) for part in row.split("<td")[1:]]


def _plain(html: str) -> str:
    kept, inside = [], False
    for letter in html:
        inside = letter == "<" or (inside and letter != ">")
        kept.append(letter if not inside and letter != ">" else " ")
    return "".join(kept)


def test_the_pages_figures_are_those_of_the_computation(counter_client: Client, job: Job) -> None:
    shown = page(counter_client, job, reservoir="47 µF 450 V")
    law = rectifier_law("5Y3-GT")
    called, candidate = (compute(Supply("full-wave", 300, 50, 120, law, uf, 15, 1500, 15, load_amps=0.07)) for uf in (20, 47))
    assert cells(shown, "B+, mean") == [amount(one.bplus_mean_v, "voltage") for one in (called, called, candidate)]
    assert cells(shown, "B+, hum peak to peak")[2] == amount(candidate.bplus_ripple_pp_v, "voltage")
    assert cells(shown, "First pulse when switched on hot") == [
        amount(one.inrush_peak_a, "current") for one in (called, called, candidate)
    ]


def test_the_next_larger_value_is_one_press_and_one_sentence(counter_client: Client, job: Job) -> None:
    shown = page(counter_client, job)
    assert "Reservoir 22 µF</a>" in shown
    assert "?reservoir=22+%C2%B5F+450+V#short" in shown
    larger = page(counter_client, job, reservoir="47 µF 450 V")
    assert "With 47 µF instead of 20 µF as reservoir, B+ stays at 210 V, its hum falls to 42 %, and the 5Y3-GT is asked" in larger
    assert "more than the 5Y3-GT's largest, 20 µF." in larger
    assert cells(larger, "First capacitor")[2] == "47 µF, at most 20 ✕ beyond"
    assert "Reservoir 68 µF</a>" in larger
    assert "C3 candidate" in larger
    assert "<svg" in larger


def test_found_is_what_the_log_says_is_in_there(colleague_client: Client, job: Job) -> None:
    log.record_found(position_of(job, "C3"), "16 µF 350 V", author())
    log.record_found(position_of(job, "V5"), "5U4G, a used one", author())
    log.record_measured(position_of(job, "L1"), "1480 Ω", author())
    shown = page(colleague_client, job)
    assert cells(shown, "Reservoir")[:2] == ["20 µF 450 V C3, called for", "16 µF 350 V C3, found"]
    assert cells(shown, "Between the capacitors")[1] == "15 H 1.48 kΩ L1, measured"
    assert cells(shown, "Rectifier") == ["5Y3-GT V5, called for", "5U4G V5, found"]
    log.record_measured(position_of(job, "C3"), "9 µF", author())
    assert cells(page(colleague_client, job), "Reservoir")[1] == "9 µF 350 V C3, measured"


def test_a_part_that_reads_open_is_computed_as_called_for_and_says_so(colleague_client: Client, job: Job) -> None:
    log.record_measured(position_of(job, "C4"), "open", author())
    assert cells(page(colleague_client, job), "Smoothing")[1] == "15 µF 450 V C4, called for: it reads open"


def test_a_fitted_part_is_found_and_is_what_a_candidate_starts_from(colleague_client: Client, job: Job) -> None:
    lot = a_lot(a_part("22 µF 450 V", technology="electrolytic", polarised=True))
    log.record_measured(position_of(job, "C3"), "9 µF", author())
    log.fit(position_of(job, "C3"), log.Fit(lot, drawer_of(lot), not_charged="a present"), author())
    shown = page(colleague_client, job, rectifier="silicon")
    assert cells(shown, "Reservoir")[1:] == ["22 µF 450 V C3, fitted"] * 2
    assert "With 22 µF instead of 20 µF as reservoir and silicon instead of 5Y3-GT as rectifier, B+ rises " in shown
    assert "No limits are on file for it: see its data sheet." in shown
    assert "Silicon rectifier</a>" not in shown
    assert "Silicon rectifier</a>" in page(colleague_client, job)


def test_a_pair_that_was_fitted_counts_as_what_it_makes(colleague_client: Client, job: Job) -> None:
    lot = a_lot(a_part("10 µF 450 V", technology="electrolytic", polarised=True))
    half = log.Fit(lot, drawer_of(lot), not_charged="a present")
    log.fit_pair(position_of(job, "C3"), "parallel", [half, half], author())
    assert cells(page(colleague_client, job), "Reservoir")[1].startswith("20 µF")
    assert cells(page(colleague_client, job), "Reservoir")[1].endswith("C3, fitted")


def test_one_can_holds_both_capacitors_and_a_surge_resistor_counts(colleague_client: Client, db: None) -> None:
    rows = (
        CalledRow("V5", "rectifier_valve", "35W4"),
        CalledRow("R5", "surge_resistor", "33 Ω 1W"),
        CalledRow("C3", "filter", "40+20 µF 150 V"),
    )
    typed = TypedFigures("half-wave", "117 V", "60 Hz", "60 mA", source="5", choke_ohms="1k2")
    shown = page(colleague_client, a_job_with_supply(rows=rows, typed=typed))
    assert cells(shown, "Reservoir")[0] == "40 µF 150 V C3, called for"
    assert cells(shown, "Smoothing")[0] == "20 µF 150 V C3, called for"
    assert cells(shown, "Before each anode")[0] == "38 Ω with R5, called for"
    assert cells(shown, "Reservoir is rated")[0] == "150 V ! scant"
    assert "B+ called for" in shown


def test_without_figures_the_page_teaches_and_leads_to_them(counter_client: Client, db: None) -> None:
    bare = a_job(Stage.INSPECTING)
    shown = page(counter_client, bare)
    assert "The model's supply figures aren't written down yet" in shown
    assert reverse("jobs:supply_figures", args=[bare.radio.model_id]) in shown


def test_without_a_reservoir_the_page_says_so(counter_client: Client, db: None) -> None:
    shown = page(counter_client, a_job_with_supply(rows=(SUPER[0], SUPER[4])))
    assert "The reservoir isn't known: give a position the role reservoir, with a value like 20 µF 450 V." in shown
    assert "Two periods" not in shown


def test_a_rectifier_that_is_not_on_file_is_said_and_another_can_be_tried(counter_client: Client, db: None) -> None:
    odd = a_job_with_supply(rows=(CalledRow("V5", "rectifier_valve", "ZZ99"), *SUPER[1:]))
    assert "No voltage drop is on file for “ZZ99”." in page(counter_client, odd)
    shown = page(counter_client, odd, rectifier="GZ34")
    assert cells(shown, "B+, mean")[0] == "–"
    assert cells(shown, "B+, mean")[2].endswith(" V")


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("reservoir", "a big one", "is not understood there"),
        ("reservoir", "1 F", "Reservoir 1000000 µF is beyond what is computed. Accepted: 0.5 to 10000 µF."),
        ("rectifier", "QQ7", "No voltage drop is on file for “QQ7”. Write a type such as 5Y3-GT, EZ80, GZ34 or UY41"),
        ("source", "10 µF", "can't be read as a resistance"),
        ("choke", "99999 H", "Choke's inductance 99999 H is beyond what is computed. Accepted: 0, or 0.001 to 1000 H."),
    ],
)
def test_what_can_not_be_tried_is_said_at_its_field_and_stays_typed(
    counter_client: Client, job: Job, field: str, typed: str, says: str
) -> None:
    address = reverse("jobs:supply", args=[job.pk], query={field: typed, "smoothing": "47 µF 450 V"})
    answer = counter_client.get(address)
    shown = unescape(answer.content.decode())
    assert answer.status_code == 422
    assert says in shown
    assert f'value="{typed}"' in shown
    assert 'value="47 µF 450 V"' in shown
    assert 'data-label="Candidate"' not in shown
    assert cells(shown, "B+, mean")[0].endswith(" V")


def test_a_value_that_reads_two_ways_is_asked_about(counter_client: Client, job: Job) -> None:
    assert 'name="reading-reservoir" value="103 µF"' in page(counter_client, job, reservoir="103")
    chosen = page(counter_client, job, reservoir="103", **{"reading-reservoir": "103 µF"})
    assert cells(chosen, "Reservoir")[2] == "103 µF candidate"


def test_the_measured_b_plus_stands_beside_the_computed(colleague_client: Client, job: Job) -> None:
    assert "B+ isn’t in the log yet" in page(colleague_client, job)
    log.record_voltage(position_of(job, "C4"), "chassis", "231", author())
    shown = page(colleague_client, job, smoothing="47 µF 450 V")
    assert "B+ as measured: 231 V at C4." in shown
    assert reverse("jobs:output_stage", args=[job.pk]) + "?bplus=" in shown


@pytest.mark.parametrize(("designator", "field"), [("C3", "reservoir"), ("V5", "rectifier"), ("L1", "choke_ohms")])
def test_the_positions_of_the_supply_lead_to_it(colleague_client: Client, job: Job, designator: str, field: str) -> None:
    place = position_of(job, designator)
    shown = colleague_client.get(reverse("jobs:position", args=[place.pk])).content.decode()
    assert f'<a href="{reverse("jobs:supply", args=[job.pk])}#try-{field}">What would another value do?</a>' in shown
    other = colleague_client.get(reverse("jobs:position", args=[position_of(job, "V4").pk])).content.decode()
    assert "What would another value do?" not in other


def test_a_part_out_of_a_drawer_is_a_candidate_by_its_link(colleague_client: Client, job: Job) -> None:
    a_lot(a_part("22 µF 450 V", technology="electrolytic", polarised=True))
    shown = unescape(colleague_client.get(reverse("jobs:position", args=[position_of(job, "C3").pk])).content.decode())
    link = f"{reverse('jobs:supply', args=[job.pk])}?reservoir=22%20%C2%B5F%20450%20V"
    assert f'<a href="{link}">What it would do to the supply</a>' in shown
    assert cells(unescape(colleague_client.get(link).content.decode()), "Reservoir")[2] == "22 µF 450 V candidate"


def test_a_rectifier_out_of_a_drawer_too(colleague_client: Client, job: Job) -> None:
    a_lot(a_part("5V4-G", Kind.VALVE))
    assert cells(page(colleague_client, job, rectifier="5V4-G"), "Rectifier")[2] == "5V4-G candidate"


def test_every_field_that_a_role_leads_to_is_on_the_page(counter_client: Client, job: Job) -> None:
    shown = page(counter_client, job)
    assert all(f'id="try-{field}"' in shown for field in FIELD_OF_ROLE.values())


def test_it_is_a_page_of_the_job(counter_client: Client, job: Job) -> None:
    for name in ("jobs:job", "jobs:change_log"):
        shown = counter_client.get(reverse(name, args=[job.pk])).content.decode()
        assert f'href="{reverse("jobs:supply", args=[job.pk])}"' in shown


def test_a_stranger_signs_in_first(client: Client, job: Job) -> None:
    answer = client.get(reverse("jobs:supply", args=[job.pk]))
    assert answer.headers["Location"].startswith(reverse("login"))


def test_looking_costs_the_same_for_few_positions_and_for_many(
    colleague_client: Client, job: Job, django_assert_num_queries: Callable[..., Any]
) -> None:
    def measured(number: int) -> None:
        place = add_position(job, CalledRow(f"C{number}", "smoothing", "47 µF 450 V"), keep_with_model=False)
        log.record_measured(place, "40 µF", author())

    measured(50)
    page(colleague_client, job)
    with CaptureQueriesContext(connection) as few:
        page(colleague_client, job, reservoir="47 µF")
    for number in range(51, 100):
        measured(number)
    with django_assert_num_queries(len(few)):
        page(colleague_client, job, reservoir="47 µF")
