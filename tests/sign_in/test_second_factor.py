"""The code beside the password: setting it up, asking for it, once each, recovery codes, removing it."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import AccessEvent, RecoveryCode, SecondFactor, Staff
from shop.sign_in.sealing import Unreadable, open_sealed, seal
from tests.builders import a_profile
from tests.conftest import PASSWORD, StillClock, signed_in
from tests.inventory.builders import errors_of, once, post, texts
from tests.sign_in.builders import a_factor, code_at, is_in, recovery_codes, try_to

pytestmark = pytest.mark.django_db
WRONG = "That code isn't good. Take the one that shows now; each is good once, and the telephone's clock must be right."


@pytest.fixture(autouse=True)
def shop() -> None:
    a_profile()


def type_code(client: Client, code: str) -> Any:
    return client.post(reverse("login_code"), {"one_time_password": code, "once": once()})


def halfway(name: str = "colleague") -> Client:
    client = Client()
    assert try_to(client, name).headers["Location"] == reverse("login_code")
    return client


def test_it_is_set_up_with_a_first_code_and_shows_its_recovery_codes_once(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    assert errors_of(post(client, "shop:second_factor", password="guess"))["password"]
    assert post(client, "shop:second_factor", password=PASSWORD).status_code == 302
    factor = SecondFactor.objects.get()
    secret = open_sealed(factor.secret)
    assert secret not in factor.secret
    page = texts(client.get(reverse("shop:second_factor")))
    assert "".join(page.split('class="factor-secret">')[1].split("<")[0].split()) == secret
    assert "<svg" in page
    assert try_to(Client()).headers["Location"] == "/", "nothing is asked for before it is confirmed"

    answer = post(client, "shop:second_factor_confirm", one_time_password="000000")
    assert errors_of_page(answer) == [WRONG]
    form = {"once": once(), "one_time_password": code_at(secret, still_clock.now)}
    shown = client.post(reverse("shop:second_factor_confirm"), form)
    codes = [one.split("</code>")[0] for one in texts(shown).split("<li><code>")[1:]]
    assert len(set(codes)) == 10
    assert shown.headers["Cache-Control"] == "no-store"
    again = client.post(reverse("shop:second_factor_confirm"), form, follow=True)
    assert codes[0] not in texts(again)
    assert "Those codes were made and shown already." in texts(again)
    assert not RecoveryCode.objects.filter(code_hash__contains=codes[0].replace("-", "")).exists()
    assert secret not in texts(client.get(reverse("shop:second_factor")))
    assert AccessEvent.objects.filter(kind="factor_set", person=colleague).count() == 1


def errors_of_page(answer: Any) -> list[str]:
    assert answer.status_code == 422
    return list(answer.context["code_form"].errors["one_time_password"])


def test_a_password_alone_lets_nobody_in(colleague: Staff, still_clock: StillClock) -> None:
    secret = a_factor(colleague)
    client = halfway()
    assert not is_in(client)
    answer = type_code(client, "123")
    assert errors_of(answer)["one_time_password"] == [WRONG]
    assert type_code(client, code_at(secret, still_clock.now)).headers["Location"] == "/"
    assert is_in(client)


@pytest.mark.parametrize(("steps", "good"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_clock_may_be_half_a_minute_off(steps: int, good: bool, colleague: Staff, still_clock: StillClock) -> None:
    secret = a_factor(colleague)
    assert type_code(halfway(), code_at(secret, still_clock.now, steps)).status_code == (302 if good else 422)


def test_a_code_is_good_once_and_so_is_every_earlier_one(colleague: Staff, still_clock: StillClock) -> None:
    secret = a_factor(colleague)
    used = code_at(secret, still_clock.now)
    assert type_code(halfway(), used).status_code == 302
    assert type_code(halfway(), used).status_code == 422
    assert type_code(halfway(), code_at(secret, still_clock.now, -1)).status_code == 422
    still_clock.forward(seconds=30)
    assert type_code(halfway(), code_at(secret, still_clock.now)).status_code == 302


def test_guessing_codes_is_shut_also_to_the_right_one_from_anywhere(
    colleague: Staff, owner_client: Client, still_clock: StillClock
) -> None:
    secret = a_factor(colleague)
    client = halfway()
    for _ in range(10):
        assert type_code(client, "000000").status_code == 422
    elsewhere = halfway()
    answer = type_code(elsewhere, code_at(secret, still_clock.now))
    assert answer.status_code == 429
    assert errors_of(answer)["one_time_password"] == [
        "Too many wrong tries. Wait a quarter of an hour, or ask the owner to let you in again."
    ]
    assert "Benno Tarnwick" in texts(owner_client.get(reverse("shop:shut_out")))
    assert post(owner_client, "shop:let_in", colleague.pk).status_code == 302
    assert type_code(elsewhere, code_at(secret, still_clock.now)).status_code == 302


def test_a_recovery_code_stands_in_once(colleague: Staff, still_clock: StillClock) -> None:
    a_factor(colleague)
    code = recovery_codes(colleague)[3]
    client = halfway()
    answer = type_code(client, f" {code.upper().replace('-', ' ')} ")
    assert answer.status_code == 302
    assert "9 are left" in texts(client.get(reverse("shop:yours")))
    assert type_code(halfway(), code).status_code == 422
    assert AccessEvent.objects.filter(kind="code_used", person=colleague).count() == 1


def test_new_recovery_codes_end_the_old(colleague: Staff, colleague_client: Client) -> None:
    a_factor(colleague)
    old = recovery_codes(colleague)[0]
    shown = post(colleague_client, "shop:second_factor_codes", password=PASSWORD)
    assert texts(shown).count("<li><code>") == 10
    assert type_code(halfway(), old).status_code == 422


def test_the_second_step_waits_five_minutes_and_needs_the_first(colleague: Staff, still_clock: StillClock) -> None:
    secret = a_factor(colleague)
    assert type_code(Client(), "123456").headers["Location"] == reverse("login")
    client = halfway()
    still_clock.forward(minutes=6)
    assert type_code(client, code_at(secret, still_clock.now)).headers["Location"] == reverse("login")
    assert "That took too long." in texts(client.get(reverse("login")))


def test_one_removes_ones_own_and_the_owner_a_colleagues_each_by_their_password(
    owner_client: Client, counter_client: Client, colleague: Staff, counter: Staff
) -> None:
    a_factor(colleague)
    a_factor(counter)
    assert post(counter_client, "shop:staff_second_factor_remove", colleague.pk, password=PASSWORD).status_code == 403
    assert post(counter_client, "shop:second_factor_remove", password="guess").status_code == 422
    assert post(counter_client, "shop:second_factor_remove", password=PASSWORD).status_code == 302
    assert "Remove second factor" in texts(owner_client.get(reverse("shop:staff")))
    assert post(owner_client, "shop:staff_second_factor_remove", colleague.pk, password=PASSWORD).status_code == 302
    assert SecondFactor.objects.count() == RecoveryCode.objects.count() == 0
    notes = AccessEvent.objects.filter(kind="factor_removed").order_by("pk").values_list("note", flat=True)
    assert list(notes) == ["", "by Orla Quillfeather"]
    answer = post(owner_client, "shop:staff_second_factor_remove", colleague.pk, password=PASSWORD)
    assert errors_of(answer)["__all__"] == ["There is no second factor to remove."]


def test_on_the_internet_an_owner_sets_it_up_before_anything_else(owner: Staff, settings: Any, still_clock: StillClock) -> None:
    settings.REACH = replace(settings.REACH, name="internet")
    client = Client()
    try_to(client, "owner")
    page = reverse("shop:second_factor")
    assert client.get("/").headers["Location"] == page
    assert "an owner needs a second factor before anything else" in texts(client.get(page))
    post(client, "shop:second_factor", password=PASSWORD)
    secret = open_sealed(SecondFactor.objects.get().secret)
    post(client, "shop:second_factor_confirm", one_time_password=code_at(secret, still_clock.now))
    assert client.get("/").status_code == 200


def test_a_secret_is_read_with_an_earlier_key_and_not_without_it(
    settings: Any, colleague: Staff, still_clock: StillClock
) -> None:
    sealed = seal("JBSWY3DP")
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another-key-of-the-shop" * 3
    assert open_sealed(sealed) == "JBSWY3DP"
    settings.SECRET_KEY_FALLBACKS = []
    with pytest.raises(Unreadable):
        open_sealed(sealed)


def test_a_changed_key_leaves_the_recovery_codes(settings: Any, colleague: Staff, still_clock: StillClock) -> None:
    secret, codes = a_factor(colleague), recovery_codes(colleague)
    settings.SECRET_KEY = "another-key-of-the-shop" * 3
    client = halfway()
    assert errors_of(type_code(client, code_at(secret, still_clock.now)))["one_time_password"][0].startswith(
        "This code can't be checked any more, as the shop's key was changed."
    )
    assert type_code(client, codes[0]).status_code == 302


def test_a_kept_form_comes_back_after_the_code(counter: Staff, settings: Any, still_clock: StillClock) -> None:
    secret = a_factor(counter)
    settings.IDLE_LIMIT = timedelta(minutes=30)
    client = signed_in(counter)
    still_clock.forward(hours=1)
    late = client.post(reverse("shop:customer_new"), {"name": "Wilmot"})
    kept = texts(late).split('name="kept" value="')[1].split('"')[0]
    assert try_to(client, "counter", kept=kept).headers["Location"] == reverse("login_code")
    assert 'value="Wilmot"' in texts(type_code(client, code_at(secret, still_clock.now)))
