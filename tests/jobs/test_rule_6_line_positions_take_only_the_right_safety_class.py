"""Rule 6: across the line or from the line to the chassis only a part of the right safety class is fitted.

An override needs a reason and a second person, and prints on the job summary.
"""

from typing import Any

import pytest
from django.test import Client
from django.utils.html import escape

from inventory.models import Kind, Part
from jobs.models import Job, Stage
from jobs.queries.papers_out import summary_paper
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import sheet_of
from jobs.services import log
from shop.acts import Refused
from shop.clock import today
from shop.letterhead_of import letterhead
from shop.models import Staff
from tests.builders import BENCH_PASSWORD, a_job, a_lot, a_part, a_staff, author, drawer_of, position_of
from tests.conftest import PASSWORD
from tests.jobs.at_bench import a_class_y_capacitor, enter, offer_of, state_of


@pytest.fixture
def job(db: None) -> Job:
    """C1 runs from the line to the chassis of a transformerless set."""
    return a_job(Stage.REPAIRING)


def plain_film() -> Part:
    return a_part("0.0047 µF 630 V", Kind.CAPACITOR, "film")


def class_x() -> Part:
    return a_part("0.0047 µF 275 V X2", Kind.CAPACITOR, "film")


# IEC 60384-14: X classes may stand only where a short can't shock anybody, line to line; line to chassis asks for a Y class.
@pytest.mark.parametrize("part", [plain_film, class_x])
def test_a_part_without_the_class_is_refused(colleague_client: Client, job: Job, part) -> None:
    place, lot = position_of(job, "C1"), a_lot(part())
    answer = enter(colleague_client, place, "fit", offer=offer_of(lot))
    assert answer.status_code == 422
    assert "will not do at C1" in answer.content.decode()
    assert not state_of(place).fitted
    assert lot.balances.get().on_hand == 10


def test_a_part_of_class_y_is_fitted(colleague_client: Client, job: Job) -> None:
    place, lot = position_of(job, "C1"), a_lot(a_class_y_capacitor())
    assert enter(colleague_client, place, "fit", offer=offer_of(lot)).status_code == 302
    assert state_of(place).fitted[0].override_reason == ""


def test_the_shop_can_switch_the_rule_off_nowhere(job: Job) -> None:
    """The writer itself refuses, whatever page or program calls it."""
    lot = a_lot(plain_film())
    with pytest.raises(Refused, match="will not do at C1"):
        log.fit(position_of(job, "C1"), log.Fit(lot, drawer_of(lot)), author())


def test_an_override_needs_a_reason(colleague_client: Client, owner: Staff, job: Job) -> None:
    lot = a_lot(plain_film())
    answer = enter(
        colleague_client, position_of(job, "C1"), "fit", offer=offer_of(lot), override_by=owner.pk, override_password=PASSWORD
    )
    assert answer.status_code == 422
    assert not state_of(position_of(job, "C1")).fitted


def test_an_override_needs_a_second_person(colleague_client: Client, colleague: Staff, job: Job) -> None:
    place, lot = position_of(job, "C1"), a_lot(plain_film())
    alone = enter(colleague_client, place, "fit", offer=offer_of(lot), override_reason="to test the set")
    assert "An override needs a second person, not the one who fits the part." in alone.content.decode()
    myself = {"override_reason": "to test the set", "override_by": colleague.pk, "override_password": PASSWORD}
    assert enter(colleague_client, place, "fit", offer=offer_of(lot), **myself).status_code == 422
    assert not state_of(place).fitted


@pytest.mark.parametrize("password", ["", "guess", PASSWORD])
def test_the_second_person_proves_with_their_own_password(colleague_client: Client, job: Job, password: str) -> None:
    """The password of the one who fits isn't theirs."""
    second = a_staff("second", shown_name="Sander Vole")
    place, lot = position_of(job, "C1"), a_lot(plain_film())
    typed = {"override_reason": "to test the set", "override_by": second.pk, "override_password": password}
    answer = enter(colleague_client, place, "fit", offer=offer_of(lot), **typed)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert escape("That isn't Sander Vole's password. Sander Vole types it here themselves.") in text
    assert 'value="to test the set"' in text
    assert PASSWORD not in text
    assert not state_of(place).fitted


def test_a_second_person_who_is_shut_out_is_said_to_be_so(colleague_client: Client, job: Job, settings: Any) -> None:
    """Not that the password was wrong, which by then may be right."""
    settings.AXES_ENABLED, settings.AXES_FAILURE_LIMIT = True, 2
    second = a_staff("second", shown_name="Sander Vole")
    place, lot = position_of(job, "C1"), a_lot(plain_film())
    typed = {"override_reason": "to test the set", "override_by": second.pk}
    for password in ("guess", "guess", BENCH_PASSWORD):
        answer = enter(colleague_client, place, "fit", offer=offer_of(lot), **typed, override_password=password)
        assert answer.status_code == 422
    assert "Too many wrong passwords were typed for Sander Vole on this computer" in answer.content.decode()
    assert not state_of(place).fitted


def test_an_override_by_the_counter_counts_not_at_all(colleague_client: Client, counter: Staff, job: Job) -> None:
    lot = a_lot(plain_film())
    typed = {"override_reason": "to test the set", "override_by": counter.pk, "override_password": PASSWORD}
    assert enter(colleague_client, position_of(job, "C1"), "fit", offer=offer_of(lot), **typed).status_code == 422


def overridden(client: Client, job: Job) -> None:
    second = a_staff("second", shown_name="Sander Vole")
    typed = {"override_reason": "museum set, never plugged in", "override_by": second.pk, "override_password": BENCH_PASSWORD}
    answer = enter(client, position_of(job, "C1"), "fit", offer=offer_of(a_lot(plain_film())), **typed)
    assert answer.status_code == 302


def test_with_both_it_is_fitted_and_the_log_names_them(colleague_client: Client, job: Job) -> None:
    overridden(colleague_client, job)
    entry = state_of(position_of(job, "C1")).fitted[0]
    assert (entry.answer, entry.override_reason, str(entry.override_by)) == ("no", "museum set, never plugged in", "Sander Vole")


def test_the_second_look_names_it(colleague_client: Client, job: Job) -> None:
    overridden(colleague_client, job)
    points = [point for point in second_look_points(sheet_of(job)) if point.place == "C1" and point.code == "override"]
    assert [point.text for point in points] == ["fitted against the safety rule: museum set, never plugged in"]


def test_it_prints_on_the_job_summary(colleague_client: Client, job: Job) -> None:
    overridden(colleague_client, job)
    notes = summary_paper(job, letterhead(), written_on=today()).overrides
    assert [(note.position, note.reason, note.second_person) for note in notes] == [
        ("C1", "museum set, never plugged in", "Sander Vole")
    ]
