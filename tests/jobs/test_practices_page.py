"""The shop's practice by role and goal: written down, changed, taken out, and what it does to a verdict."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from jobs.bench.practice import PracticeRow, pick_practice
from jobs.models import Stage, TolerancePractice
from jobs.services import practices as service
from jobs.services.practices import PracticeFacts
from shop.acts import Refused, Stale
from tests.builders import a_job, a_profile, position_of
from tests.jobs.at_bench import enter, state_of, token

D = Decimal
PAGE = "jobs:practices"
FACTS = {"role": "plate_load", "goal": "", "below": "5", "above": "5", "why": "the sheet is a good one"}


def send(client: Client, address: str, **typed: str):
    return client.post(address, {"once": token(), **typed})


@pytest.fixture
def practice(db: None) -> TolerancePractice:
    a_profile()
    return service.add_practice(PracticeFacts("plate_load", "", -500, 500))


def test_the_narrowest_row_counts():
    rows = [
        PracticeRow("plate_load", "", (D(-5), D(5))),
        PracticeRow("", "museum", (D(-30), D(30))),
        PracticeRow("plate_load", "museum", (D(-10), D(40))),
    ]
    assert pick_practice(rows, "plate_load", "museum", D(20)).band == (D(-10), D(40))
    assert pick_practice(rows, "plate_load", "working", D(20)).band == (D(-5), D(5))
    assert pick_practice(rows, "coupling", "museum", D(20)).band == (D(-30), D(30))
    assert pick_practice(rows, "coupling", "working", D(20)).band == (D(-20), D(20))
    assert pick_practice(rows, "choke", "working", D(20)).band == (D(-30), D(30))


def test_an_owner_writes_one_down_and_a_reading_is_judged_by_it(owner_client: Client, colleague_client: Client):
    job = a_job(Stage.INSPECTING)
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="240K")
    assert state_of(place).verdict == "within"
    assert "(±20 % by the shop's practice)" in state_of(place).reasons
    assert send(owner_client, reverse(PAGE), **FACTS).status_code == 302
    enter(colleague_client, place, "measured", measured="240K")
    assert state_of(place).verdict == "drifted"
    assert "(±5 % by the shop's practice for plate load resistor)" in state_of(place).reasons


def test_the_goal_of_the_job_counts(db: None, colleague_client: Client):
    service.add_practice(PracticeFacts("", "museum", -4000, 4000))
    job = a_job(Stage.INSPECTING)
    job.goal = "museum"
    job.save(update_fields=["goal"])
    place = position_of(job, "R1")
    enter(colleague_client, place, "measured", measured="300K")
    assert state_of(place).verdict == "within"
    assert "by the shop's practice where the goal is museum" in state_of(place).reasons


def test_a_suggestion_fills_the_form_and_counts_for_nothing_until_it_is_written_down(owner_client: Client, db: None):
    a_profile()
    page = owner_client.get(reverse(PAGE), {"role": "tuned_circuit", "goal": "", "below": "5", "above": "5"}).content.decode()
    assert 'value="5"' in page
    assert "role=tuned_circuit&amp;goal=&amp;below=5&amp;above=5&amp;why=a+tuned+circuit+must" in page
    assert "common practice, no source" in page
    assert not TolerancePractice.objects.exists()


@pytest.mark.parametrize(
    ("odd", "says"),
    [
        ({"role": ""}, "Choose a role, a goal or both. The figure for everything else stands in the shop’s terms."),
        ({"below": "120"}, "Type a percentage from 0 to 100."),
        ({"above": "many"}, "“many” can’t be read as a percentage. Type it like 17.5."),
        ({"role": "flux"}, "Select a valid choice. flux is not one of the available choices."),
    ],
)
def test_what_can_not_be_is_refused_and_everything_typed_is_kept(owner_client: Client, db: None, odd, says):
    a_profile()
    answer = send(owner_client, reverse(PAGE), **{**FACTS, **odd})
    page = answer.content.decode().replace("&#x27;", "’").replace("'", "’")
    assert answer.status_code == 422
    assert says in page
    assert "the sheet is a good one" in page
    assert not TolerancePractice.objects.exists()


def test_one_role_and_goal_has_one_practice(practice: TolerancePractice):
    with pytest.raises(Refused, match="There is a practice for this role and goal already"):
        service.add_practice(PracticeFacts("plate_load", "", -1000, 1000))


def test_the_same_form_sent_twice_writes_one(owner_client: Client, db: None):
    a_profile()
    typed = {"once": token(), **FACTS}
    for _ in range(2):
        assert owner_client.post(reverse(PAGE), typed).status_code == 302
    assert TolerancePractice.objects.count() == 1


def test_of_two_owners_the_second_is_told_and_sees_what_stands(owner_client: Client, practice: TolerancePractice):
    address = reverse("jobs:practice", args=[practice.pk])
    typed = {**FACTS, "once": token(), "seen": str(practice.version)}
    service.change_practice(practice, PracticeFacts("plate_load", "", -700, 700), seen=practice.version)
    answer = owner_client.post(address, {**typed, "below": "9", "above": "9"})
    page = answer.content.decode()
    assert answer.status_code in (409, 422)
    assert "Somebody else changed this practice since you opened it." in page
    assert TolerancePractice.objects.get().low_bp == -700


def test_a_practice_is_taken_out(owner_client: Client, practice: TolerancePractice):
    address = reverse("jobs:practice", args=[practice.pk])
    pressed = {"once": token(), "seen": str(practice.version), "remove": "1"}
    assert owner_client.post(address, pressed).status_code == 302
    assert not TolerancePractice.objects.exists()
    again = owner_client.post(address, pressed, follow=True)
    assert "That form had already been sent, and was acted on once." in again.content.decode()
    late = send(owner_client, address, **FACTS, seen="1")
    assert late.status_code == 409
    assert "Somebody took this practice out." in late.content.decode()
    assert owner_client.get(address).status_code == 404
    with pytest.raises(Stale):
        service.change_practice(practice, PracticeFacts("plate_load", "", -700, 700), seen=1)


def test_a_practice_changed_meanwhile_is_not_taken_out(owner_client: Client, practice: TolerancePractice):
    service.change_practice(practice, PracticeFacts("plate_load", "", -700, 700), seen=practice.version)
    answer = send(owner_client, reverse("jobs:practice", args=[practice.pk]), seen="1", remove="1")
    assert answer.status_code == 422
    assert "Somebody else changed this practice since you opened it." in answer.content.decode()
    assert TolerancePractice.objects.get().low_bp == -700


def test_only_the_owner_sets_practice(colleague_client: Client, client: Client, practice: TolerancePractice):
    for address in (reverse(PAGE), reverse("jobs:practice", args=[practice.pk])):
        assert colleague_client.get(address).status_code == 403
        assert client.get(address).status_code == 302


def test_the_list_asks_the_same_queries_for_one_and_for_many(owner_client: Client, db: None, django_assert_max_num_queries):
    a_profile()
    for at, role in enumerate(("coupling", "bypass", "tone", "avc", "bleeder", "dropper")):
        service.add_practice(PracticeFacts(role, "", -100 * at, 500))
    with django_assert_max_num_queries(8):
        owner_client.get(reverse(PAGE))


def test_a_valve_is_judged_by_its_testers_reading(colleague_client: Client):
    place = position_of(a_job(Stage.INSPECTING), "V1")
    for text, verdict in (("72 %", "within"), ("48 %", "drifted"), ("4.2 of 5.5", "within"), ("55, reject 60", "drifted")):
        enter(colleague_client, place, "measured", measured=text)
        assert state_of(place).verdict == verdict, text
    assert "write them into the note" in state_of(place).reasons


def test_an_esr_is_judged_by_the_capacitors_size(colleague_client: Client):
    place = position_of(a_job(Stage.INSPECTING), "C3")
    enter(colleague_client, place, "measured", measured="ESR 0.8 Ω")
    assert state_of(place).verdict == "within"
    enter(colleague_client, place, "measured", measured="ESR 14")
    assert state_of(place).verdict == "drifted"
    assert "it is drying out" in state_of(place).reasons
