"""Who may sign in, and as what; the last owner stays, and nobody shuts themselves out."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import Role, Staff
from shop.profile import staff_seen
from tests.builders import a_profile
from tests.conftest import PASSWORD, make_staff, signed_in
from tests.inventory.builders import errors_of, once, post, texts

pytestmark = pytest.mark.django_db
GOOD = "rectifier-and-choke-5"


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def add(client: Client, **typed: Any) -> Any:
    usual = {"username": "mirela", "password": GOOD, "role": "bench", "shown_name": "Mirela Dunnock"}
    return post(client, "shop:staff_new", **{**usual, **typed})


def change(client: Client, person: Staff, **typed: Any) -> Any:
    usual = {"role": person.role, "shown_name": person.shown_name, "is_active": "on", "seen": staff_seen(person)}
    sent = {**usual, **typed}
    return post(client, "shop:staff_change", person.pk, **{name: value for name, value in sent.items() if value is not None})


def test_somebody_new_can_sign_in(owner_client: Client) -> None:
    assert add(owner_client).status_code == 302
    assert Client().login(username="mirela", password=GOOD)
    assert Staff.objects.get(username="mirela").role == Role.BENCH


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"username": ""}, "username", "This field is required."),
        ({"username": "owner"}, "username", "A user with that username already exists."),
        (
            {"username": "a b"},
            "username",
            "Enter a valid username. This value may contain only letters, numbers, and @/./+/-/_ characters.",
        ),
        ({"password": "short"}, "password", "This password is too short. It must contain at least 8 characters."),
        ({"password": "password"}, "password", "This password is too common."),
        ({"role": "king"}, "role", "Select a valid choice. king is not one of the available choices."),
    ],
)
def test_bad_cards_are_refused_in_words(typed: dict[str, str], field: str, text: str, owner_client: Client) -> None:
    answer = add(owner_client, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert Staff.objects.count() == 1


def test_the_form_sent_twice_adds_one(owner_client: Client) -> None:
    form = {"once": once(), "username": "mirela", "password": GOOD, "role": "bench"}
    for _ in range(2):
        assert owner_client.post(reverse("shop:staff_new"), form).status_code == 302
    assert Staff.objects.filter(username="mirela").count() == 1


def test_a_role_changes_what_somebody_may_open(owner_client: Client, counter: Staff) -> None:
    client = signed_in(counter)
    assert client.get(reverse("inventory:part_new")).status_code == 403
    assert change(owner_client, counter, role="bench").status_code == 302
    assert client.get(reverse("inventory:part_new")).status_code == 200


def test_a_shut_door_ends_the_session_too(owner_client: Client, colleague: Staff) -> None:
    client = signed_in(colleague)
    assert change(owner_client, colleague, is_active=None).status_code == 302
    assert client.get(reverse("today")).status_code in (302, 403)
    assert not Client().login(username="colleague", password=PASSWORD)


def test_the_last_owner_stays_owner(owner: Staff, owner_client: Client) -> None:
    answer = change(owner_client, owner, role="bench")
    assert errors_of(answer)["role"] == [
        "Orla Quillfeather is the only owner who can sign in. Make somebody else an owner first."
    ]
    second = make_staff("second", Role.OWNER, "Second")
    assert change(signed_in(second), owner, role="bench").status_code == 302
    answer = change(signed_in(second), second, role="counter")
    assert errors_of(answer)["role"] == ["Second is the only owner who can sign in. Make somebody else an owner first."]


def test_nobody_shuts_themselves_out(owner: Staff, owner_client: Client) -> None:
    make_staff("second", Role.OWNER, "Second")
    answer = change(owner_client, owner, is_active=None)
    assert errors_of(answer)["is_active"] == ["You would shut yourself out. Let another owner do it."]
    owner.refresh_from_db()
    assert owner.is_active


def test_an_owner_whose_door_is_shut_does_not_count(owner: Staff, owner_client: Client) -> None:
    gone = make_staff("gone", Role.OWNER, "Gone")
    assert change(owner_client, gone, is_active=None).status_code == 302
    assert change(owner_client, owner, role="counter").status_code == 422


def test_the_second_of_two_editors_is_told(owner_client: Client, colleague: Staff) -> None:
    seen = staff_seen(colleague)
    assert change(owner_client, colleague, shown_name="Benno T.").status_code == 302
    answer = change(owner_client, colleague, shown_name="B. Tarnwick", seen=seen)
    assert answer.status_code == 422
    assert "Somebody else changed this person's card since you opened it." in answer.content.decode().replace("&#x27;", "'")
    assert "Benno T." in texts(answer)


def test_the_owner_gives_a_new_password_that_ends_old_sessions(owner_client: Client, colleague: Staff) -> None:
    client = signed_in(colleague)
    assert post(owner_client, "shop:staff_password", colleague.pk, password=GOOD).status_code == 302
    assert client.get(reverse("today")).status_code == 302
    assert Client().login(username="colleague", password=GOOD)


def test_a_weak_new_password_is_refused(owner_client: Client, colleague: Staff) -> None:
    answer = post(owner_client, "shop:staff_password", colleague.pk, password="12345678")
    assert errors_of(answer)["password"] == ["This password is too common."]


def own(client: Client, **typed: str) -> Any:
    return post(
        client, "shop:password_change", **{"old_password": PASSWORD, "new_password1": GOOD, "new_password2": GOOD, **typed}
    )


def test_anybody_changes_their_own_password_and_stays_signed_in(counter_client: Client) -> None:
    assert own(counter_client).status_code == 302
    assert counter_client.get(reverse("shop:password_change")).status_code == 200
    assert Client().login(username="counter", password=GOOD)


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ({"old_password": "guess"}, "old_password", "Your old password was entered incorrectly. Please enter it again."),
        ({"new_password2": "another-thing-9"}, "new_password2", "The two password fields didn’t match."),
        (
            {"new_password1": "q7-x", "new_password2": "q7-x"},
            "new_password2",
            "This password is too short. It must contain at least 8 characters.",
        ),
    ],
)
def test_a_bad_change_of_ones_own_password_is_refused(
    typed: dict[str, str], field: str, text: str, counter_client: Client
) -> None:
    answer = own(counter_client, **typed)
    assert answer.status_code == 422
    assert errors_of(answer)[field] == [text]
    assert Client().login(username="counter", password=PASSWORD)
