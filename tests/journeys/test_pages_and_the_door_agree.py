"""What a page says at the bench is what `ask` answers: both use the same functions."""

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from inventory.components.writing import said_in
from inventory.models import Kind
from jobs.models import Job, Stage
from jobs.services.called_for import CalledRow
from shop.asking.door import answer
from tests.builders import a_job, a_lot, a_model, a_part, a_set, position_of
from tests.jobs.at_bench import enter, state_of

ROWS = (
    CalledRow("C2", "coupling", "0.01 µF 400 V"),
    CalledRow("C3", "reservoir", "20 µF 450 V"),
    CalledRow("R1", "plate_load", "220K 1/2W 10%"),
    CalledRow("V1", "rectifier_valve", "5Y3-GT"),
)


def asked(name: str, **fields: Any) -> dict[str, Any]:
    given = answer(json.dumps({"do": name, **fields}).encode())
    assert given["ok"], given
    return given["result"]


@pytest.fixture
def job(db: None) -> Job:
    return a_job(Stage.REPAIRING, radio=a_set(model=a_model("Kestrel 9", supply_kind="transformer", rows=ROWS)))


@pytest.mark.parametrize(
    ("designator", "called", "measured"),
    [
        ("R1", "220K 1/2W 10%", "250K"),
        ("R1", "220K 1/2W 10%", "OL"),
        ("C2", "0.01 µF 400 V", "2 MΩ"),
        ("C3", "20 µF 450 V", "0.9 mA"),
        ("C3", "20 µF 450 V", "ESR 40 Ω"),
    ],
)
def test_the_log_gives_the_verdict_that_the_door_gives(colleague_client: Client, job: Job, designator, called, measured):
    place = position_of(job, designator)
    assert enter(colleague_client, place, "measured", measured=measured).status_code == 302
    state, said = state_of(place), asked("judge", called=called, measured=measured)
    assert state.verdict == said["verdict"]
    assert state.reasons.splitlines() == said["reasons"]


@pytest.mark.parametrize(
    ("designator", "called", "marking", "technology", "more"),
    [
        ("C2", "0.01 µF 400 V", "0.01 µF 630 V", "", {}),
        ("C2", "0.01 µF 400 V", "0.012 µF 250 V", "", {}),
        ("C3", "20 µF 450 V", "22 µF 450 V", "", {"rectifier": "5Y3-GT"}),
        ("C3", "20 µF 450 V", "33 µF 450 V", "", {"rectifier": "5Y3-GT"}),
        ("R1", "220K 1/2W 10%", "220 kΩ 1 W", "carbon_film", {}),
    ],
)
def test_the_offers_give_the_reasons_that_the_door_gives(
    colleague_client: Client, job: Job, designator, called, marking, technology, more
):
    place = position_of(job, designator)
    kind = Kind.RESISTOR if designator == "R1" else Kind.CAPACITOR
    a_lot(a_part(marking, kind, technology))
    said = asked("substitute", role=place.role, called=called, candidate=marking, supply="transformer", **more)
    page = colleague_client.get(reverse("jobs:position", args=[place.pk])).content.decode()
    for reason in said["reasons"]:
        assert str(escape(said_in("modern", reason["message"]))) in page, reason
