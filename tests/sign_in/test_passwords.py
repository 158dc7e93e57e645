"""What a password may be; one that was given is good for coming in once."""

from typing import Any

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from shop.models import AccessEvent, Role, Staff
from tests.builders import a_profile
from tests.conftest import PASSWORD, signed_in
from tests.inventory.builders import errors_of, once, post, texts
from tests.sign_in.builders import is_in, try_to

pytestmark = pytest.mark.django_db
GIVEN, OWN = "rectifier-and-choke-5", "a kettle under two moons"
OURS = (
    "Somebody who knows the shop would try these words: its name, your name, words of the trade. They may be part of a password, "
    "with at least 8 other characters."
)


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("Quillfeather1958", [OURS]),
        ("tarnwick-radio", [OURS]),
        ("x" * 129, ["This password is too long. It may have at most 128 characters."]),
        ("elevenx", ["This password is too short. It must contain at least 8 characters."]),
        ("iloveyou1", ["This password is too common."]),
    ],
)
def test_what_anybody_would_try_here_is_refused(password: str, said: list[str]) -> None:
    person = Staff(username="benno", shown_name="Benno Tarnwick", role=Role.BENCH)
    with pytest.raises(ValidationError) as refused:
        validate_password(password, person)
    assert refused.value.messages == said


@pytest.mark.parametrize(
    "password", ["aaaabbbbccccd", "ключ от чердака", "a b c d e f g", "radio on the blue stairs", "1" * 20 + "q"]
)
def test_no_sign_of_any_kind_is_asked_for(password: str) -> None:
    validate_password(password, Staff(username="benno", shown_name="Benno Tarnwick"))


def test_a_password_is_taken_exactly_as_it_was_typed(owner_client: Client, colleague: Staff) -> None:
    assert post(owner_client, "shop:staff_password", colleague.pk, password=f" {GIVEN} ").status_code == 302
    assert not is_in_with(GIVEN)
    assert is_in_with(f" {GIVEN} ")


def is_in_with(password: str) -> bool:
    return try_to(Client(), password=password).status_code == 302


def test_whoever_was_given_a_password_chooses_their_own_before_anything_else(owner_client: Client, colleague: Staff) -> None:
    assert post(owner_client, "shop:staff_password", colleague.pk, password=GIVEN).status_code == 302
    client = Client()
    try_to(client, password=GIVEN)
    page = reverse("shop:password_change")
    assert client.get("/").headers["Location"] == page
    assert client.get("/", headers={"HX-Request": "true"}).headers["HX-Redirect"] == page
    assert "Choose one that only you know" in texts(client.get(page))
    typed = {"old_password": GIVEN, "new_password1": OWN, "new_password2": OWN}
    assert post(client, "shop:password_change", **typed).status_code == 302
    assert client.get("/").status_code == 200
    again = Client()
    assert try_to(again, password=OWN).headers["Location"] == "/"
    assert again.get("/").status_code == 200
    assert list(AccessEvent.objects.filter(kind="password").order_by("pk").values_list("note", flat=True)) == [
        "given by Orla Quillfeather",
        "",
    ]


def test_a_new_member_of_staff_chooses_their_own_too(owner_client: Client) -> None:
    card = {"username": "mirela", "password": GIVEN, "role": "bench", "shown_name": "Mirela Dunnock"}
    assert post(owner_client, "shop:staff_new", **card).status_code == 302
    client = Client()
    try_to(client, "mirela", GIVEN)
    assert client.get("/").headers["Location"] == reverse("shop:password_change")


def test_an_owner_who_sets_their_own_has_chosen(owner_client: Client, owner: Staff) -> None:
    assert post(owner_client, "shop:staff_password", owner.pk, password=GIVEN).status_code == 302
    assert is_in(owner_client)
    client = Client()
    assert try_to(client, "owner", GIVEN).status_code == 302
    assert client.get("/").status_code == 200


def test_changing_ones_own_ends_the_other_places_and_this_one_stays(colleague: Staff) -> None:
    here, there = signed_in(colleague), signed_in(colleague)
    typed = {"old_password": PASSWORD, "new_password1": OWN, "new_password2": OWN}
    assert post(here, "shop:password_change", **typed).status_code == 302
    assert [is_in(here), is_in(there)] == [True, False]


def test_guessing_the_password_in_force_is_counted(colleague_client: Client) -> None:
    typed = {"new_password1": OWN, "new_password2": OWN}
    for _ in range(10):
        post(colleague_client, "shop:password_change", old_password="guess", **typed)
    answer: Any = colleague_client.post(reverse("shop:password_change"), {"once": once(), "old_password": PASSWORD, **typed})
    assert errors_of(answer)["__all__"] == [
        "Too many wrong tries. Wait a quarter of an hour, or ask the owner to let you in again."
    ]
    assert AccessEvent.objects.filter(kind="shut_out").count() == 1
