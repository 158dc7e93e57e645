"""The second look: computed from the log, accepted point by point, signed, and void once the circuit is changed."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from jobs.models import Job, SecondLook, Stage
from jobs.queries.missing import proof_of
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import sheet_of
from jobs.services import log, stages
from jobs.services.proving import sign_second_look
from shop.acts import Refused
from shop.clock import now
from tests.builders import a_fit, a_job, a_lot, a_part, a_staff, author, look_again, plan_part, position_of
from tests.jobs.at_bench import a_resistor, token
from tests.jobs.sent import sent_form


def page(job: Job, name: str = "second_look") -> str:
    return reverse(f"jobs:{name}", args=[job.pk])


def codes(job: Job, place: str) -> set[str]:
    return {point.code for point in second_look_points(sheet_of(job)) if point.place == place}


def sign(client: Client, job: Job, **more: object):
    accepted = [point.key for point in second_look_points(sheet_of(job)) if not point.blocks]
    job.refresh_from_db()
    return client.post(page(job, "second_look_sign"), {"once": token(), "seen": job.log_seq, "accepted": accepted, **more})


def test_what_is_planned_and_not_fitted_blocks(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    assert "to_fit" in codes(job, "C2")


def test_what_was_looked_at_and_not_decided_blocks(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    log.record_found(position_of(job, "R1"), "220K", author())
    assert codes(job, "R1") == {"undecided"}
    assert codes(job, "V1") == {"untouched"}


def test_an_unconfirmed_polarity_blocks_until_somebody_looks(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    a_fit(job, "C3", a_lot(a_part("47 µF 450 V", technology="electrolytic", polarised=True)))
    assert "polarity" in codes(job, "C3")
    log.confirm_polarity(position_of(job, "C3"), author())
    assert "polarity" not in codes(job, "C3")


def test_a_value_that_differs_from_the_one_called_for_is_named(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    a_fit(job, "C2", a_lot(a_part("0.012 µF 630 V")))
    assert "differs" in codes(job, "C2")


def test_what_stays_in_unmeasured_and_on_the_line_is_named(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    log.decide(position_of(job, "C1"), "keep", author())
    assert codes(job, "C1") == {"not_measured", "old_line_part"}


def test_two_findings_of_a_kind_at_one_place_are_one_point(db: None) -> None:
    job = a_job(Stage.REPAIRING)
    for text in ("pin 5 to pin 6", "heater to earth"):
        log.record_wiring(job, text, author(), position=position_of(job, "V1"))
    points = [point for point in second_look_points(sheet_of(job)) if point.code == "wiring"]
    assert [point.text.count("otherwise than the schematic") for point in points] == [2]


def test_blocking_points_link_to_their_position_and_bar_the_signature(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    plan_part(job, "R1", part=a_resistor())
    text = colleague_client.get(page(job)).content.decode()
    assert f'href="{reverse("jobs:position", args=[position_of(job, "R1").pk])}"' in text
    assert "decided to replace, and nothing is fitted yet" in text
    answer = sign(colleague_client, job)
    assert answer.status_code == 422
    assert "1 point still blocks, the first: R1, decided to replace, and nothing is fitted yet." in answer.content.decode()
    assert not SecondLook.objects.exists()


def test_every_open_point_is_accepted_by_its_own_tick(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    answer = sign(colleague_client, job, accepted=["not_measured:R1"])
    assert answer.status_code == 422
    assert escape("Tick every point you looked at;") in answer.content.decode()
    assert 'value="not_measured:R1" checked' in answer.content.decode()
    assert not SecondLook.objects.exists()


def test_a_signed_one_says_who_and_what_was_accepted(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    answer = sign(colleague_client, job, note="heaters in the right order")
    assert answer.status_code == 302
    look = SecondLook.objects.get()
    assert (str(look.person), look.note) == ("Benno Tarnwick", "heaters in the right order")
    assert "V1: stays in and was not measured" in look.accepted
    assert "holds" in colleague_client.get(page(job)).content.decode()


def test_a_list_that_has_grown_since_it_was_drawn_isnt_signed(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    form = sent_form(colleague_client.get(page(job)), "note")
    log.record_wiring(job, "speaker out of phase", author())
    answer = colleague_client.post(page(job, "second_look_sign"), form | {"note": "all good"})
    assert answer.status_code == 422
    assert "The log has grown since this list was drawn. Look the list over again, then sign." in answer.content.decode()
    assert 'value="all good"' in answer.content.decode()


def test_it_must_be_done_again_after_a_later_fit(colleague_client: Client) -> None:
    job = a_job(Stage.PROVING)
    look_again(job)
    assert proof_of(job).looked
    a_fit(job, "R1", a_lot(a_resistor()))
    assert not proof_of(job).looked
    text = colleague_client.get(page(job)).content.decode()
    assert "The circuit was changed after the last second look." in text
    assert "void: the circuit was changed since" in text
    with pytest.raises(Refused, match="a new second look, as the circuit was changed after the last one"):
        stages.perform(job, "start_soak", person=a_staff(), at=now())


def test_a_part_taken_out_and_a_wiring_finding_void_it_too(db: None) -> None:
    job = a_job(Stage.PROVING)
    look_again(job)
    log.record_wiring(job, "speaker out of phase", author())
    assert not proof_of(job).looked
    look_again(job)
    log.take_out(sheet_of(job).fitted[0], "hums", author(), scrap=False)
    assert not proof_of(job).looked


def test_a_point_that_blocks_again_bars_the_soak_though_the_look_was_signed(db: None) -> None:
    job = a_job(Stage.PROVING)
    look_again(job)
    plan_part(job, "R1", part=a_resistor())
    with pytest.raises(Refused, match="1 point on it still blocks"):
        stages.perform(job, "start_soak", person=a_staff(), at=now())


def test_it_is_signed_when_fitting_is_done_and_not_before(colleague_client: Client) -> None:
    job = a_job(Stage.REPAIRING)
    assert "Sign the second look" not in colleague_client.get(page(job)).content.decode()
    with pytest.raises(Refused, match="The second look comes when fitting is done."):
        sign_second_look(job, [], person=a_staff(), at=now())


def test_the_counter_reads_it_and_signs_nothing(counter_client: Client) -> None:
    job = a_job(Stage.PROVING)
    assert counter_client.get(page(job)).status_code == 200
    assert sign(counter_client, job).status_code == 403
