"""Labels for the bags of a day's delivery, on a sheet of which some labels are used up."""

from datetime import date
from io import BytesIO

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import Lot
from tests.builders import a_lot, a_part, a_profile

ADDRESS = "/drawers/labels/bags/"


@pytest.fixture
def day(db: None) -> date:
    a_profile()
    for marking in ("0.01 µF 630 V", "0.047 µF 630 V"):
        a_lot(a_part(marking))
    return Lot.objects.first().received_on


def asked(day: object, sheet: str = "a4-21", used_up: str = "") -> dict[str, object]:
    return {"day": day, "sheet": sheet, "used_up": used_up}


def test_every_lot_of_the_day_has_its_label(counter_client: Client, day: date) -> None:
    answer = counter_client.get(ADDRESS, asked(day, used_up="20"))
    texts = [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]
    assert [[f"lot {lot.pk}" in text for lot in Lot.objects.order_by("pk")] for text in texts] == [[True, False], [False, True]]


def test_they_can_be_looked_at_and_back_keeps_the_day(counter_client: Client, day: date) -> None:
    page = counter_client.get(ADDRESS, {**asked(day), "look": "1"}).content.decode()
    assert 'alt="page 1 of 1"' in page
    assert f'href="{reverse("inventory:labels")}?day={day.isoformat()}#bags">Back</a>' in page
    assert f'value="{day.isoformat()}"' in counter_client.get(reverse("inventory:labels"), {"day": day}).content.decode()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"day": "2020-01-01"}, "No lot came in on that day. Choose the day of a delivery."),
        ({"day": ""}, "Say on which day they came."),
        ({"day": "soon"}, "Enter a valid date."),
        ({"sheet": "a4-65"}, "a4-65 is not one of the available choices."),
        ({"used_up": "-1"}, "Ensure this value is greater than or equal to 0."),
    ],
)
def test_what_cannot_be_drawn_is_said(counter_client: Client, day: date, change: dict[str, str], said: str) -> None:
    answer = counter_client.get(ADDRESS, {**asked(day), **change})
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_a_stranger_draws_nothing(stranger_client: Client, day: date) -> None:
    assert stranger_client.get(ADDRESS, asked(day))["Location"].startswith(reverse("login"))


def test_as_many_questions_for_two_lots_as_for_twelve(counter_client: Client, day: date) -> None:
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as seen:
            counter_client.get(ADDRESS, asked(day))
        counts.append(len(seen))
        for value in range(10):
            a_lot(a_part(f"{value + 1} kΩ", "resistor"))
    assert counts[0] == counts[1]
