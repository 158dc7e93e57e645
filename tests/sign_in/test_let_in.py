"""Somebody who lost what they sign in with, let in again at the shop's own computer."""

import getpass
import io
import sys
from collections.abc import Iterator

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from shop.models import AccessEvent, AccessKind, CalendarLink, RecoveryCode, SecondFactor, Staff
from shop.sign_in.events import AT_THE_COMPUTER
from shop.sign_in.trying import MOST, WRONG_CODE, is_shut, note_wrong
from tests.builders import a_profile
from tests.conftest import PASSWORD, StillClock, signed_in
from tests.sign_in.builders import a_factor, is_in, recovery_codes, try_to

pytestmark = pytest.mark.django_db
NEW = "four odd teaspoons of solder"


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def command(*words: str) -> str:
    out = io.StringIO()
    call_command("let_in", *words, stdout=out)
    return out.getvalue()


@pytest.fixture
def at_a_terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """What is typed there, in turn."""
    typed: list[str] = []
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(getpass, "getpass", lambda prompt="": typed.pop(0))
    yield typed
    assert typed == []


def test_a_sole_owner_who_lost_telephone_codes_and_password_comes_in_again(
    owner: Staff, still_clock: StillClock, at_a_terminal: list[str]
) -> None:
    a_factor(owner)
    recovery_codes(owner)
    elsewhere = signed_in(owner)
    at_a_terminal += [NEW, NEW]
    told = command("owner", "--new-password", "--without-second-factor")
    assert told.splitlines() == [
        f"{owner} has a new password, is signed out everywhere, and their calendar links have ended.",
        "The second factor is removed. Set up a new one under “Yours” after signing in.",
        f"{owner} isn't shut out any more.",
    ]
    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    assert not is_in(elsewhere)
    client = Client()
    assert try_to(client, "owner", NEW).headers["Location"] == "/"
    assert is_in(client), "the password was typed by who is to use it, so no other has to be chosen"
    noted = AccessEvent.objects.filter(note=AT_THE_COMPUTER).order_by("pk").values_list("kind", flat=True)
    assert list(noted) == [AccessKind.PASSWORD, AccessKind.FACTOR_REMOVED, AccessKind.LET_IN]


def test_somebody_shut_out_is_let_in_and_all_else_stays(colleague: Staff, still_clock: StillClock) -> None:
    a_factor(colleague)
    for _ in range(MOST):
        note_wrong(colleague, WRONG_CODE, at=still_clock.now, address="192.0.2.7")
    assert is_shut(colleague, at=still_clock.now)
    assert command("colleague").splitlines() == [
        f"{colleague} isn't shut out any more.",
        "The second factor is still asked for; --without-second-factor removes it.",
    ]
    assert not is_shut(colleague, at=still_clock.now)
    colleague.refresh_from_db()
    assert colleague.check_password(PASSWORD)


def test_what_cannot_be_done_is_said_and_changes_nothing(colleague: Staff, at_a_terminal: list[str]) -> None:
    def refusal(*words: str) -> str:
        with pytest.raises(CommandError) as refused:
            command(*words)
        return str(refused.value)

    assert refusal("nobody") == "Nobody here signs in as “nobody”. Those who do: colleague."
    assert refusal("colleague", "--without-second-factor") == "There is no second factor to remove."
    at_a_terminal += [NEW, NEW + "."]
    assert refusal("colleague", "--new-password") == "The two weren't the same. Nothing was changed; start again."
    at_a_terminal += ["radio", "radio"]
    assert "too short" in refusal("colleague", "--new-password")
    colleague.refresh_from_db()
    assert colleague.check_password(PASSWORD)
    assert not AccessEvent.objects.exists()
    assert not CalendarLink.objects.exists()


def test_a_password_is_asked_for_at_a_terminal_alone(colleague: Staff, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)
    with pytest.raises(CommandError, match="there is none here"):
        command("colleague", "--new-password")


def test_somebody_whose_card_keeps_them_out_is_told_so(colleague: Staff) -> None:
    Staff.objects.filter(pk=colleague.pk).update(is_active=False)
    assert "But their card says that they may not sign in: an owner changes that under “Staff”." in command("colleague")
