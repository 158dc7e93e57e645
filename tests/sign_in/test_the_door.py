"""Signing in with name and password: what is asked, counted, written down, and when the door stays shut."""

from datetime import timedelta
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.contrib.auth import get_user_model, hashers
from django.test import Client
from django.urls import reverse

from shop.models import AccessEvent, AccessKind, Staff
from shop.sign_in import events
from tests.builders import a_profile
from tests.conftest import MONDAY, PASSWORD, StillClock, signed_in
from tests.inventory.builders import once
from tests.sign_in.builders import is_in, try_to

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def door(settings: Any) -> None:
    a_profile()
    settings.AXES_ENABLED = True
    settings.AXES_FAILURE_LIMIT = 3


def kinds() -> list[str]:
    return list(AccessEvent.objects.order_by("pk").values_list("kind", flat=True))


def miss(client: Client, times: int, name: str = "colleague", **more: Any) -> Any:
    return [client.post(reverse("login"), {"username": name, "password": "guess"}, **more) for _ in range(times)][-1]


def test_signing_in_gives_a_new_session_and_is_written_down(colleague: Staff, stranger_client: Client) -> None:
    stranger_client.get(reverse("login"))
    session = stranger_client.session
    session["x"] = 1
    session.save()
    before = str(session.session_key)
    stranger_client.cookies["sessionid"] = before
    answer = try_to(stranger_client, next="/house/yours/")
    assert answer.headers["Location"] == "/house/yours/"
    assert stranger_client.cookies["sessionid"].value != before
    event = AccessEvent.objects.get()
    assert (event.kind, event.person, event.address) == (AccessKind.SIGNED_IN, colleague, "127.0.0.1")
    assert stranger_client.post(reverse("logout")).headers["Location"] == reverse("login")
    assert not is_in(stranger_client)
    assert kinds() == ["signed_in", "signed_out"]


def test_nobody_is_led_out_of_the_shop_by_signing_in(colleague: Staff, stranger_client: Client) -> None:
    assert try_to(stranger_client, next="https://elsewhere.example/").headers["Location"] == "/"


def test_too_many_misses_shut_the_door_also_to_the_right_password(colleague: Staff, stranger_client: Client) -> None:
    assert miss(stranger_client, 2).status_code == 200
    answer = miss(stranger_client, 1)
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "900")
    assert "For 15 minutes no password is tried" in answer.content.decode()
    assert try_to(stranger_client).status_code == 429
    assert not is_in(stranger_client)
    assert kinds() == ["failed", "failed", "failed", "shut_out"]
    AccessAttempt.objects.update(attempt_time=MONDAY - timedelta(days=9000))
    assert try_to(stranger_client).status_code == 302


def test_a_name_that_nobody_has_gets_the_same_answers(colleague: Staff) -> None:
    pages = {name: [miss(Client(), 1, name) for _ in range(4)] for name in ("colleague", "nobody-here")}

    def seen(name: str) -> list[tuple[int, str]]:
        return [(one.status_code, _bare(one.content.decode(), name)) for one in pages[name]]

    assert seen("colleague") == seen("nobody-here")
    assert [status for status, _ in seen("colleague")] == [200, 200, 429, 429]


def _bare(page: str, name: str) -> str:
    """Without the form's token and the name that was typed."""
    lines = [line for line in page.replace(name, "NAME").splitlines() if "csrfmiddlewaretoken" not in line]
    return "\n".join(lines)


def test_a_name_that_nobody_has_costs_one_hash_as_well(
    colleague: Staff, stranger_client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    hashed: list[str] = []
    encode = hashers.MD5PasswordHasher.encode

    def counted(self: Any, password: str, salt: str) -> str:
        hashed.append("x")
        return encode(self, password, salt)

    monkeypatch.setattr(hashers.MD5PasswordHasher, "encode", counted)
    counts = []
    for name in ("colleague", "nobody-here"):
        hashed.clear()
        miss(stranger_client, 1, name)
        counts.append(len(hashed))
    assert counts == [1, 1]


def test_what_was_typed_for_an_unknown_name_stands_nowhere(stranger_client: Client) -> None:
    miss(stranger_client, 4, "my-secret-typed-in-the-wrong-field")
    attempt = AccessAttempt.objects.get()
    kept = " ".join(
        str(value) for row in (*AccessEvent.objects.values(), *AccessAttempt.objects.values()) for value in row.values()
    )
    assert "my-secret" not in kept
    assert "guess" not in kept
    assert len(attempt.username) == 40
    assert {one.note for one in AccessEvent.objects.all()} == {"no such name"}


def test_others_at_the_same_address_and_the_same_person_elsewhere_are_not_kept_out(colleague: Staff, counter: Staff) -> None:
    assert miss(Client(), 3).status_code == 429
    assert try_to(Client(), "counter").status_code == 302
    assert (
        Client(REMOTE_ADDR="192.0.2.9").post(reverse("login"), {"username": "colleague", "password": PASSWORD}).status_code == 302
    )


def test_an_address_told_by_the_visitor_is_not_believed(colleague: Staff, stranger_client: Client) -> None:
    for number in range(3):
        answer = miss(stranger_client, 1, headers={"X-Forwarded-For": f"192.0.2.{number}"})
    assert answer.status_code == 429
    assert set(AccessEvent.objects.values_list("address", flat=True)) == {"127.0.0.1"}


def test_coming_in_forgets_the_misses_before(colleague: Staff, stranger_client: Client) -> None:
    miss(stranger_client, 2)
    assert try_to(stranger_client).status_code == 302
    assert miss(Client(), 2).status_code == 200


def test_the_owner_sees_who_is_shut_out_and_lets_them_in_once(owner_client: Client, colleague: Staff) -> None:
    miss(Client(), 3)
    miss(Client(), 3, "nobody-here")
    page = owner_client.get(reverse("shop:shut_out")).content.decode()
    assert "Benno Tarnwick" in page
    assert "a name that nobody here has" in page
    form = {"once": once()}
    for _ in range(2):
        assert owner_client.post(reverse("shop:let_in", args=[colleague.pk]), form).status_code == 302
    assert try_to(Client()).status_code == 302
    assert kinds().count("let_in") == 1
    assert owner_client.post(reverse("shop:let_in", args=[colleague.pk + 99]), {"once": once()}).status_code == 404


def test_nobody_but_the_owner_opens_the_door_or_reads_who_came(counter_client: Client, counter: Staff) -> None:
    assert counter_client.get(reverse("shop:shut_out")).status_code == 403
    assert counter_client.get(reverse("shop:comings")).status_code == 403
    assert counter_client.post(reverse("shop:let_in", args=[counter.pk]), {"once": once()}).status_code == 403
    assert [(one.kind, one.note) for one in AccessEvent.objects.order_by("pk")] == [
        ("forbidden", "shop:shut_out"),
        ("forbidden", "shop:comings"),
        ("forbidden", "shop:let_in"),
    ]


def test_comings_and_goings_are_found_by_kind_person_and_day_and_saved(
    owner_client: Client, colleague: Staff, still_clock: StillClock
) -> None:
    events.note(AccessKind.SIGNED_IN, at=MONDAY, person=colleague, address="192.0.2.1")
    events.note(AccessKind.FAILED, at=MONDAY + timedelta(days=3), person=None, note="no such name")
    page = reverse("shop:comings")
    assert "192.0.2.1" in owner_client.get(page, {"person": str(colleague.pk)}).content.decode()
    assert "192.0.2.1" not in owner_client.get(page, {"kind": "failed"}).content.decode()
    assert "192.0.2.1" not in owner_client.get(page, {"since": "2026-03-03"}).content.decode()
    assert "192.0.2.1" in owner_client.get(page, {"since": "not a day", "usual": "1"}).content.decode()
    saved = owner_client.get(page, {"as": "csv", "until": "2026-03-02"}).content.decode()
    assert "Benno Tarnwick" in saved
    assert "no such name" not in saved


def test_tries_from_outside_do_not_fill_the_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(events, "FROM_OUTSIDE_AN_HOUR", 3)
    for _ in range(5):
        events.note_from_outside(AccessKind.FAILED, at=MONDAY)
    assert AccessEvent.objects.count() == 3
    assert events.note_from_outside(AccessKind.FAILED, at=MONDAY + timedelta(hours=1)) is not None


def test_a_hash_of_an_earlier_program_is_made_anew_at_signing_in(colleague: Staff, settings: Any) -> None:
    settings.PASSWORD_HASHERS = ["shop.sign_in.hashing.ShopArgon2", "django.contrib.auth.hashers.MD5PasswordHasher"]
    assert colleague.password.startswith("md5$")
    assert try_to(Client()).status_code == 302
    colleague.refresh_from_db()
    assert colleague.password.startswith("argon2$argon2id$v=19$m=65536,t=3,p=4$")
    assert get_user_model().objects.get(pk=colleague.pk).check_password(PASSWORD)


@pytest.mark.parametrize("page", ["login", "login_code"])
def test_the_door_takes_no_other_method(page: str, stranger_client: Client) -> None:
    assert stranger_client.put(reverse(page)).status_code == 405


def test_signing_out_is_no_link(colleague: Staff) -> None:
    client = signed_in(colleague)
    assert client.get(reverse("logout")).status_code == 405
    assert is_in(client)
