"""Every form of every page, on a shop with one of everything: refused, it keeps what was typed; sent twice, it acts once."""

import logging
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import resolve, reverse

from tests.faults import active_cells, bad_inputs, hostile_pages
from tests.house.one_of_everything import Everything, copies_beside, opened_shop, samples
from tests.house.pages import addresses
from tests.house.test_every_page import PIECES, none, nothing_written
from tests.journeys.forms import MARK, ShownForm, forms_on

pytestmark = pytest.mark.django_db
ODD = ("-1", "1e999", "9" * 40, "NaN", "１２", "\x00", "\u202e<b>'\"", "0,0,0", "x" * 20_000)
# In the suite a field gets one odd text, and another one on the next form; with `--long` every text goes into every field.
ROUNDS = [
    pytest.param(ODD, id="mixed"),
    *(pytest.param((odd,), id=ascii(odd[:12]), marks=pytest.mark.long) for odd in ODD),
]
# Whatever a page reads from its address.
ASKED = (
    *(
        "q",
        "page",
        "sort",
        "order",
        "customer",
        "set",
        "position",
        "correct",
        "earthed",
        "next",
        "shown",
        "with",
        "drawer",
        "drawers",
    ),
    *("maker", "model", "year", "supply_kind", "lineup", "part", "lot", "kind", "stage", "waits_for", "bench", "person", "since"),
    *("technology", "safety_class", "stock", "for", "who", "supplier", "after", "before", "text", "skip", "paper", "near"),
    *("mark", "add", "days", "take", "sent", "of"),
    *("at", "line", "zoom", "list"),
    *("entry", "count", "job", "why"),
    *("months", "table", "role", "cabinet"),
    *("by", "hour_cost"),
    *("first", "last", "period", "day", "currency", "as", "usual", "until", "date_code", "condition", "worker", "step", "gone"),
    *("show", "cause"),
    *("to", "new"),
)


@dataclass
class Opened:
    shop: Everything
    photos: Path
    forms: list[ShownForm] = field(default_factory=list)


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    photos = tmp_path_factory.mktemp("photos")
    with opened_shop(django_db_blocker, photos) as shop:
        yield Opened(shop, photos)


@pytest.fixture
def client(opened: Opened, db: None, settings: Any, caplog: pytest.LogCaptureFixture) -> Client:
    settings.MEDIA_ROOT, settings.BACKUP_FOLDER = opened.photos, copies_beside(opened.photos)
    caplog.set_level(logging.CRITICAL, "django.request")
    client = Client(raise_request_exception=False)
    client.force_login(opened.shop.staff["owner"])
    return client


@pytest.fixture
def every_form(opened: Opened, client: Client) -> list[ShownForm]:
    """Read off the pages once for all tests here."""
    opened.forms = opened.forms or list(read_forms(opened.shop, client))
    return opened.forms


def read_forms(shop: Everything, client: Client) -> Iterator[ShownForm]:
    """One of each: the first that leads to a view with this set of fields."""
    known = set()
    for one in addresses():
        if one.name in PIECES or one.name in ("login", "logout"):
            continue
        for arguments in samples(shop, one.route, one.name):
            address = reverse(one.name, kwargs=arguments)
            answer = client.get(address)
            if answer.status_code == 405 or not answer.headers.get("Content-Type", "").startswith("text/html"):
                break  # what is for sending only, or gives a file, does so for every sample
            if answer.status_code != 200:
                continue
            for form in forms_on(address, answer.content.decode()):
                sort = (resolve(form.action.partition("?")[0]).view_name, tuple(sorted(form.values)))
                if sort not in known and form.action != reverse("logout"):
                    known.add(sort)
                    yield form


def send(client: Client, form: ShownForm, values: dict[str, list[str]]) -> Any:
    pressed = {name: [value] for name, value in form.buttons[:1] if name}
    return client.post(form.action, {**values, **pressed})


def is_mine(name: str) -> bool:
    return name.rpartition("-")[2] not in ("once", "seen", "digest", "csrfmiddlewaretoken")


@pytest.mark.looks
def test_a_refused_form_keeps_what_was_typed(every_form: list[ShownForm], client: Client) -> None:
    """Words are put into every field that takes some; where the page refuses them it must give all of them back."""
    wrong, refused = {}, 0
    for form in every_form:
        words = {name: f"{MARK} {number}" for number, name in enumerate(form.typed) if is_mine(name)}
        with transaction.atomic():
            answer = send(client, form, {**form.values, **{name: [text] for name, text in words.items()}})
            transaction.set_rollback(True)
        if answer.status_code != 422:
            continue
        refused += 1
        shown = unescape(answer.content.decode())
        lost = sorted(name for name, text in words.items() if text not in shown)
        if lost:
            wrong[form.name] = f"lost {', '.join(lost)}"
    none(wrong)
    assert refused > 15


def test_a_form_sent_twice_acts_once(every_form: list[ShownForm], client: Client) -> None:
    """As it stands on the page, sent, and sent again with the same token: the second time nothing is written."""
    wrong, accepted = {}, 0
    for form in every_form:
        with transaction.atomic():
            first = send(client, form, form.values)
            with nothing_written() as written:
                second = send(client, form, form.values) if first.status_code == 302 else first
            transaction.set_rollback(True)
        accepted += first.status_code == 302
        if first.status_code == 302 and (written or second.status_code not in (302, 409)):
            wrong[form.name] = f"{second.status_code} {written}"
        if first.status_code >= 500:
            wrong[form.name] = first.status_code
    none(wrong)
    assert accepted > 15


@pytest.mark.looks
def test_a_form_without_its_token_does_nothing(every_form: list[ShownForm], client: Client) -> None:
    """By turns there is none, or what stands there is none."""
    wrong = {}
    with_token = [one for one in every_form if any(name.rpartition("-")[2] == "once" for name in one.values)]
    for form, token in zip(with_token, cycle(([""], ["not-a-token"])), strict=False):
        names = [name for name in form.values if name.rpartition("-")[2] == "once"]
        with transaction.atomic(), nothing_written() as written:
            answer = send(client, form, {**form.values, **dict.fromkeys(names, token)})
            transaction.set_rollback(True)
        if answer.status_code >= 500 or any("INSERT" in sql.upper() for sql in written):
            wrong[form.name] = f"{answer.status_code} {written}"
    none(wrong)
    assert len(with_token) > 100


@pytest.mark.parametrize("odd", ROUNDS)
def test_odd_values_are_no_server_error(every_form: list[ShownForm], client: Client, odd: tuple[str, ...]) -> None:
    """An odd text in every field at once, hidden ones and choices too, with the form's own token."""
    wrong, texts = {}, cycle(odd)
    for form in every_form:
        names = [name for name in form.values if name.rpartition("-")[2] not in ("once", "csrfmiddlewaretoken")]
        spoilt = {name: [next(texts)] for name in names}
        figures = {name: text for name, text in spoilt.items() if name in form.figures}
        for values in [spoilt, *([figures] if figures and figures != spoilt else [])]:
            with transaction.atomic():
                answer = send(client, form, {**form.values, **values})
                transaction.set_rollback(True)
            if answer.status_code >= 500:
                wrong[f"{form.name} {sorted(values)}"] = answer.status_code
    none(wrong)


@pytest.mark.parametrize("odd", ROUNDS)
def test_odd_addresses_are_no_server_error(opened: Opened, client: Client, odd: tuple[str, ...]) -> None:
    wrong, texts = {}, cycle(odd)
    for one in addresses():
        if one.name in ("login", "logout"):
            continue
        address = reverse(one.name, kwargs=samples(opened.shop, one.route, one.name)[0])
        status = client.get(address, {name: next(texts) for name in ASKED}).status_code
        if status >= 500:
            wrong[address] = status
    none(wrong)


def test_the_token_of_one_form_is_no_token_of_another(every_form: list[ShownForm], client: Client) -> None:
    """A token that was used elsewhere marks a form as sent: it does nothing, and says so."""
    token = [str(uuid.uuid4())]
    used = 0
    for form in every_form:
        if "once" not in form.values or used == 5:
            continue
        with nothing_written() as written:
            answer = send(client, form, {**form.values, "once": token})
        if used:
            assert written == [], form.name
        used += answer.status_code == 302
    assert used == 5


def test_bad_inputs_of_every_sort_are_answered_and_change_nothing(
    opened: Opened, every_form: list[ShownForm], client: Client
) -> None:
    """The short form; `python -m tests.faults.bad_inputs` sends as many as wanted, on either database."""
    shown = bad_inputs.shown_by(opened.shop, bad_inputs.signed_in(opened.shop), every_form)
    found = bad_inputs.run(shown, 240, verifying=False)
    assert not found.faults, "\n".join(bad_inputs.faults_told(found))
    assert found.accepted.total() > 15


@pytest.mark.looks
def test_no_cell_of_a_table_that_leaves_the_house_may_run(opened: Opened, client: Client) -> None:
    """The short form of `python -m tests.faults.active_cells`, which asks every address."""
    told = active_cells.run(opened.shop, client, only_likely=True)
    assert told.faults == []
    assert told.tables > 60
    assert all(active_cells.runs(text) for text in ("=1", "＝1", " +1", "\u200b@a", "\t1"))


@pytest.mark.looks
def test_nothing_of_a_text_becomes_markup_or_a_line_of_a_letter(opened: Opened, client: Client) -> None:
    """The short form of `python -m tests.faults.hostile_pages`, which reads every page."""
    told = hostile_pages.run(opened.shop, client, only=("shop:customer", "jobs:bad_lot", "jobs:warranty", "calendar_feed"))
    assert told.faults == []
    assert told.holding >= 8
    assert hostile_pages.of_page(b'<a href="mailto:a@example.org?bcc=b@example.org">') != []
