"""How long somebody stays signed in, where, and how it ends; what was typed meanwhile isn't lost."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from shop.models import AccessEvent, Customer, SignedIn, Staff
from shop.profile import staff_seen
from shop.sign_in.kept import read
from tests.builders import a_profile
from tests.conftest import PASSWORD, StillClock, signed_in
from tests.inventory.builders import errors_of, once, post, texts
from tests.sign_in.builders import is_in, try_to

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def limits(settings: Any) -> None:
    a_profile()
    settings.IDLE_LIMIT, settings.LONGEST_SIGN_IN = timedelta(minutes=30), timedelta(hours=12)


def last_kind() -> str:
    return AccessEvent.objects.order_by("-pk")[0].kind


def test_disuse_signs_out_and_says_so(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    still_clock.forward(minutes=29)
    assert is_in(client)
    still_clock.forward(minutes=29)
    assert is_in(client), "use counts"
    still_clock.forward(minutes=30)
    answer = client.get("/jobs/?stage=ready")
    assert answer.headers["Location"] == "/sign-in/?next=/jobs/%3Fstage%3Dready&why=idle"
    assert "as nothing had been done here for a while" in client.get(answer.headers["Location"]).content.decode()
    assert last_kind() == "idle"
    assert not is_in(client)


def test_nobody_stays_longer_than_the_longest(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    for _ in range(25):
        still_clock.forward(minutes=28)
        assert is_in(client)
    still_clock.forward(minutes=25)
    assert client.get("/").headers["Location"] == "/sign-in/?next=/&why=too_long"
    assert last_kind() == "too_long"


def test_a_script_that_asks_by_itself_is_no_use(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    for _ in range(3):
        still_clock.forward(minutes=12)
        client.get(reverse("shop:work_line"), headers={"HX-Request": "true"})
    assert not is_in(client)


def test_a_piece_of_a_page_moves_the_whole_window(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    still_clock.forward(hours=1)
    answer = client.post("/jobs/", {"a": "b"}, headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/jobs/"})
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=/jobs/&why=idle"


def test_a_form_sent_too_late_is_kept_and_sent_again_once(counter: Staff, still_clock: StillClock) -> None:
    client = signed_in(counter)
    typed = {"once": once(), "name": "Wilmot <Asketh>", "phone": "", "email": "", "address": "", "note": "rings twice"}
    address = reverse("shop:customer_new")
    still_clock.forward(hours=1)
    late = client.post(address, {**typed, "own_password": "warm-valve-9"})
    assert late.status_code == 403
    assert Customer.objects.count() == 0
    assert "What you typed is kept on this page" in texts(late)
    kept = texts(late).split('name="kept" value="')[1].split('"')[0]
    again = try_to(client, "counter", kept=kept)
    page = texts(again)
    assert 'name="name" value="Wilmot &lt;Asketh&gt;"' in page
    assert f'name="once" value="{typed["once"]}"' in page
    assert f'action="{address}"' in page
    assert "warm-valve-9" not in page
    for _ in range(2):
        assert client.post(address, typed).status_code == 302
    assert Customer.objects.get().name == "Wilmot <Asketh>"


def test_what_somebody_typed_is_given_back_to_nobody_else(counter: Staff, colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(counter)
    still_clock.forward(hours=1)
    late = client.post(reverse("shop:customer_new"), {"name": "Wilmot"})
    kept = texts(late).split('name="kept" value="')[1].split('"')[0]
    assert try_to(client, kept=kept).headers["Location"] == "/"
    assert read(kept + "x", counter) is None
    assert read("", counter) is None


def test_everybody_sees_their_browsers_and_ends_one_with_their_password(colleague: Staff, colleague_client: Client) -> None:
    other = signed_in(colleague)
    page = texts(colleague_client.get(reverse("shop:signed_in")))
    assert page.count("Sign out there") == 1
    assert page.count("This browser") == 1
    place = SignedIn.objects.order_by("-pk")[0]
    answer = post(colleague_client, "shop:signed_in_end", place.pk, password="guess")
    assert errors_of(answer)["password"] == ["That isn't your password. Type the one you sign in with."]
    assert is_in(other)
    form = {"once": once(), "password": PASSWORD}
    address = reverse("shop:signed_in_end", args=[place.pk])
    assert colleague_client.post(address, form).status_code == 302
    assert other.get("/").headers["Location"] == "/sign-in/?next=/&why=ended"
    assert is_in(colleague_client)
    assert colleague_client.post(address, form).status_code == 409
    assert [one.kind for one in AccessEvent.objects.order_by("pk")] == ["failed", "ended"]


def test_all_other_browsers_end_at_once(colleague: Staff, colleague_client: Client) -> None:
    others = [signed_in(colleague), signed_in(colleague)]
    assert post(colleague_client, "shop:signed_in_end_others", password=PASSWORD).status_code == 302
    assert [is_in(one) for one in (colleague_client, *others)] == [True, False, False]


def test_only_the_owner_ends_a_colleagues(owner_client: Client, counter_client: Client, colleague: Staff) -> None:
    client = signed_in(colleague)
    place = SignedIn.objects.get(person=colleague)
    assert post(counter_client, "shop:signed_in_end", place.pk, password=PASSWORD).status_code == 409
    assert counter_client.get(reverse("shop:staff_signed_in", args=[colleague.pk])).status_code == 403
    assert is_in(client)
    assert "Sign out there" in texts(owner_client.get(reverse("shop:staff_signed_in", args=[colleague.pk])))
    assert post(owner_client, "shop:signed_in_end", place.pk, password=PASSWORD).status_code == 302
    assert not is_in(client)
    assert AccessEvent.objects.get(kind="ended").note == "by Orla Quillfeather"


def test_reading_the_table_of_places_lets_nobody_in(colleague: Staff) -> None:
    client = signed_in(colleague)
    place = SignedIn.objects.get()
    assert place.session_key not in (client.session["place"], client.session.session_key)


def test_signing_in_twice_in_one_browser_is_one_place(colleague: Staff, counter: Staff) -> None:
    client = Client()
    for name in ("colleague", "colleague", "counter"):
        assert try_to(client, name).status_code == 302
    assert SignedIn.objects.filter(ended_at=None, person=colleague).count() <= 1
    assert SignedIn.objects.filter(ended_at=None, person=counter).count() == 1


def test_a_shut_door_and_a_new_password_end_every_place(owner_client: Client, colleague: Staff, counter: Staff) -> None:
    at_bench, at_counter = signed_in(colleague), signed_in(counter)
    assert post(owner_client, "shop:staff_password", colleague.pk, password="rectifier-and-choke-5").status_code == 302
    seen = reverse("shop:staff_change", args=[counter.pk])
    form = {"once": once(), "role": counter.role, "shown_name": counter.shown_name}
    assert owner_client.post(seen, {**form, "seen": staff_seen(counter)}).status_code == 302
    assert not is_in(at_bench)
    assert not is_in(at_counter)
    assert SignedIn.objects.filter(ended_at=None).exclude(person__username="owner").count() == 0


def test_too_many_wrong_passwords_inside_close_what_asks_for_one(colleague: Staff, still_clock: StillClock) -> None:
    client = signed_in(colleague)
    for _ in range(10):
        post(client, "shop:second_factor", password="guess")
    answer = post(client, "shop:second_factor", password=PASSWORD)
    assert errors_of(answer)["password"] == [
        "Too many wrong tries. Wait a quarter of an hour, or ask the owner to let you in again."
    ]
    assert last_kind() == "shut_out"
    still_clock.forward(minutes=16)
    assert post(client, "shop:second_factor", password=PASSWORD).status_code == 302
