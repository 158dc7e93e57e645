"""What keeps one from another: nested addresses, private pages, headers, methods. `test_every_page.py` walks roles."""

from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Movement
from jobs.models import Estimate
from jobs.services import estimates
from jobs.services.photos import add_photo
from shop.calendars.links import make_link
from shop.clock import now
from shop.models import AccessEvent, Staff
from shop.pictures import read_picture
from tests import builders as make
from tests.conftest import PASSWORD, signed_in
from tests.pictures import a_picture

pytestmark = pytest.mark.django_db
OF_TWO = ("count", "transfer", "scrap", "send_back", "set_apart")


def sent_to(name: str, **facts: str) -> tuple[Estimate, str]:
    job = make.a_job("awaiting_consent", customer=make.a_customer(name, **facts), fault=f"{name} says that it hums.")
    estimate = Estimate.objects.get(job=job, state="sent")
    return estimate, estimates.make_link(estimate, person=make.a_staff(), at=now())


def test_a_child_under_anothers_address_is_not_there(owner_client: Client, owner: Staff) -> None:
    """A lot under a drawer that it isn't in; another job's photo under this customer's link. Neither is acted on."""
    make.a_profile()
    lot, elsewhere = make.a_lot(), make.a_drawer("Z", "9")
    moved = Movement.objects.count()
    for name in OF_TWO:
        address = reverse(f"inventory:{name}", args=[lot.pk, elsewhere.pk])
        # Counting is open: parts may be found where the books know of none.
        answer = owner_client.post(address, {"once": str(uuid4()), "count": "1", "counted": "1", "to": elsewhere.pk})
        assert answer.status_code in ((422,) if name == "count" else (404, 409, 422)), name
    assert Movement.objects.count() == moved
    _, token = sent_to("Iwona Brzask")
    other, _ = sent_to("Zdenka Other")
    photo = add_photo(other.job, read_picture(BytesIO(a_picture()), "underside.png", 10**7), person=owner, at=now())
    assert Client().get(reverse("approve_photo", args=[token, photo.pk])).status_code == 404


def test_a_private_page_holds_nothing_of_another_customer() -> None:
    make.a_profile()
    facts = {"phone": "020 7946 0999", "email": "zdenka@example.org", "address": "7 Otherwhere Lane"}
    mine, token = sent_to("Iwona Brzask")
    other, others = sent_to("Zdenka Other", **facts)
    theirs = (other.job.number, "Zdenka", "7946 0999", "zdenka@", "Otherwhere", other.digest, others)
    calendar = make_link("my telephone", person=make.a_staff(), at=now())
    for address in (reverse("approve", args=[token]), reverse("calendar_feed", args=[calendar])):
        page = Client().get(address).content.decode()
        assert [word for word in theirs[1:] if word in page] == []
    page = Client().get(reverse("approve", args=[token])).content.decode()
    assert mine.job.number in page
    assert other.job.number not in page


def _strict(answer: Any) -> list[str]:
    wanted = {"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Cross-Origin-Opener-Policy": "same-origin"}
    wrong = [name for name, value in wanted.items() if answer.headers.get(name) != value]
    policy = answer.headers.get("Content-Security-Policy", "")
    wrong += [part for part in ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'") if part not in policy]
    wrong += ["unsafe" for _ in range(policy.count("unsafe-"))]
    wrong += [name for name in answer.headers if name.startswith("Access-Control-")]
    wrong += [] if answer.headers.get("Referrer-Policy") in ("no-referrer", "same-origin") else ["Referrer-Policy"]
    wrong += [] if "no-store" in answer.headers.get("Cache-Control", "") else ["Cache-Control"]
    kind = answer.headers.get("Content-Type", "")
    return wrong + ([] if not kind.startswith("text/") or "charset=utf-8" in kind else ["charset"])


def test_cookies_and_headers_are_strict(owner: Staff, owner_client: Client) -> None:
    make.a_profile()
    answers = {
        "today": owner_client.get("/"),
        "sign in": Client().get(reverse("login")),
        "no page": owner_client.get("/there/is/none/"),
        "bad link": Client().get(reverse("approve", args=["x"])),
        "calendar": Client().get(reverse("calendar_feed", args=[make_link("my telephone", person=owner, at=now())])),
        "refused": signed_in(make.a_staff()).get(reverse("shop:profile")),
        "method": owner_client.put("/"),
    }
    assert {name: wrong for name, answer in answers.items() if (wrong := _strict(answer))} == {}
    client = Client()
    client.get(reverse("login"))
    client.post(reverse("login"), {"username": "owner", "password": PASSWORD})
    kept = {name: (cookie["samesite"], bool(cookie["httponly"])) for name, cookie in client.cookies.items()}
    assert {same for same, _ in kept.values()} == {"Lax"}
    assert [hidden for name, (_, hidden) in kept.items() if "session" in name] == [True]


def test_methods_that_no_page_knows_are_refused(owner_client: Client) -> None:
    for method in ("put", "patch", "delete", "options", "trace"):
        answer = getattr(owner_client, method)("/")
        assert (answer.status_code, answer["Allow"]) == (405, "GET, HEAD, POST"), method


def test_what_is_no_page_tells_nothing(owner_client: Client) -> None:
    for path in (
        "/.git/config",
        "/static/",
        "/static/../shop/settings.py",
        "/photos/",
        "/secret.key",
        "/shop.sqlite3",
        "/jobs/estimates/",
    ):
        answer = owner_client.get(path)
        assert answer.status_code == 404, path
        assert "SECRET" not in answer.content.decode()


def test_what_breaks_tells_nothing_inner(monkeypatch: pytest.MonkeyPatch) -> None:
    make.a_profile()

    def broken(*args: object) -> None:
        raise RuntimeError("the inner word")

    monkeypatch.setattr("jobs.views.approval.link_for", broken)
    answer = Client(raise_request_exception=False).get(reverse("approve", args=["x" * 43]))
    assert answer.status_code == 500
    page = answer.content.decode()
    assert "Something broke on our side" in page
    assert [word for word in ("the inner word", "Traceback", "RuntimeError", "approval.py") if word in page] == []


def test_a_refused_page_is_written_down(colleague: Staff) -> None:
    assert signed_in(colleague).get(reverse("shop:profile")).status_code == 403
    event = AccessEvent.objects.get(kind="forbidden")
    assert (event.person, event.address) == (colleague, "127.0.0.1")
