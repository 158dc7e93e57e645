"""Walks every address for every role, on a shop with one of everything."""

import logging
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs
from uuid import uuid4

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test import Client
from django.urls import Resolver404, resolve, reverse

from jobs.models import Estimate
from jobs.services.estimates import make_link
from shop.clock import now
from shop.models import Role
from tests import builders as make
from tests.house.one_of_everything import Everything, copies_beside, opened_shop, samples
from tests.house.pages import NO_ROLES, NOTHING, Address, PageReader, addresses

EVERY = sorted(addresses(), key=lambda one: one.name)
pytestmark = pytest.mark.django_db
# Pieces of pages, asked for by a script: they are no page of their own.
PIECES = {
    "shop:work_row",
    "shop:work_line",
    "shop:customer_lookup",
    "jobs:intake_cautions",
    "jobs:set_lookup",
    "jobs:line_read",
    "jobs:measure_first",
}
# Shown, sent on, for posting only, or told in words that it can't be now (409) or that a choice is lacking (422).
ANSWERS = (200, 302, 405, 409, 422)
READS = ("SELECT", "SAVEPOINT", "RELEASE", "ROLLBACK", "BEGIN", "COMMIT", "EXPLAIN", "PRAGMA")


@dataclass(frozen=True)
class Look:
    """What came back when somebody looked at an address; `written` are the statements that changed something meanwhile."""

    name: str
    address: str
    status: int
    kind: str
    content: bytes
    written: list[str]
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_page(self) -> bool:
        return self.status == 200 and self.kind.startswith("text/html") and self.name not in PIECES


@dataclass(frozen=True)
class Opened:
    shop: Everything
    photos: Path
    looked: dict[str, list[Look]] = field(default_factory=dict)


@pytest.fixture(scope="module")
def opened(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    photos = tmp_path_factory.mktemp("photos")
    with opened_shop(django_db_blocker, photos) as shop:
        yield Opened(shop, photos)


@pytest.fixture
def shop(opened: Opened, db: None, settings: Any, caplog: pytest.LogCaptureFixture) -> Everything:
    settings.MEDIA_ROOT, settings.BACKUP_FOLDER = opened.photos, copies_beside(opened.photos)
    caplog.set_level(logging.CRITICAL, "django.request")  # refusals are what is looked for
    return opened.shop


Looks = Callable[[str], list[Look]]


@pytest.fixture
def looks(opened: Opened, shop: Everything) -> Looks:
    """`looks(role)`: every address that a role may open. Asked for once for all tests here."""

    def looked(role: str) -> list[Look]:
        if role not in opened.looked:
            opened.looked[role] = list(look_everywhere(shop, role))
        return opened.looked[role]

    return looked


def look_everywhere(shop: Everything, role: str) -> Iterator[Look]:
    """The owner looks at each sample of an address, the others at the first."""
    client = signed_in(shop, role)
    for one in EVERY:
        if one.name in ("logout", *NOTHING) or (one.roles is not None and role != Role.OWNER and role not in one.roles):
            continue
        for arguments in samples(shop, one.route, one.name)[: None if role == Role.OWNER else 1]:
            address = reverse(one.name, kwargs=arguments)
            with nothing_written() as written:
                answer = client.get(address)
                content = body_of(answer)
            kind = answer.headers.get("Content-Type", "")
            yield Look(one.name, address, answer.status_code, kind, content, written, dict(answer.headers))


@pytest.fixture
def pages(looks: Looks) -> "Pages":
    """`pages(role)`: address and content of every whole page that a role can read."""
    return lambda role: [(one.address, PageReader(one.content.decode())) for one in looks(role) if one.is_page]


def signed_in(shop: Everything, name: str, **options: Any) -> Client:
    client = Client(raise_request_exception=False, **options)
    client.force_login(shop.staff[name])
    return client


def url_of(shop: Everything, one: Address) -> str:
    return reverse(one.name, kwargs=samples(shop, one.route, one.name)[0])


@contextmanager
def nothing_written() -> Iterator[list[str]]:
    """Collects every statement that writes, sessions apart: their messages are what a page says next."""
    written: list[str] = []

    def watch(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        if not sql.lstrip().upper().startswith(READS) and "django_session" not in sql:
            written.append(sql[:160])
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield written


def none(wrong: Mapping[str, object]) -> None:
    """Fail with every fault on a line of its own."""
    assert not wrong, "\n".join(["", *(f"{where}: {what}" for where, what in wrong.items())])


def body_of(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else bytes(answer.content)


def test_every_view_says_whom_it_serves() -> None:
    silent = {one.name for one in EVERY if one.roles is None}
    assert silent == set(NO_ROLES)
    assert {one.name: one.roles for one in EVERY if one.roles is not None and not one.roles} == {}


def test_a_stranger_is_sent_to_sign_in(shop: Everything) -> None:
    stranger = Client(raise_request_exception=False)
    let_in = {}
    for one in EVERY:
        answer = stranger.get(url_of(shop, one))
        if not one.is_open and not (answer.status_code == 302 and answer.headers["Location"].startswith(reverse("login"))):
            let_in[one.name] = answer.status_code
        if one.is_open and answer.status_code != (404 if one.name in NOTHING else 200):
            let_in[one.name] = answer.status_code
    none(let_in)


@pytest.mark.parametrize(
    "role", [*(pytest.param(one, marks=pytest.mark.looks) for one in (Role.COUNTER, Role.BENCH)), Role.OWNER]
)
def test_a_role_sees_its_pages_and_no_other(shop: Everything, looks: Looks, role: str) -> None:
    client, wrong = signed_in(shop, role), {}
    seen = {one.address: one.status for one in looks(role)}
    for one in EVERY:
        if one.roles is None:
            continue
        address, may = url_of(shop, one), role == Role.OWNER or role in one.roles
        shown = seen[address] if may else client.get(address).status_code
        sent = 403 if may else client.post(address).status_code
        if shown not in (ANSWERS if may else (403,)) or sent != 403:
            wrong[one.name] = (shown, sent)
    none(wrong)


def test_looking_changes_nothing(looks: Looks) -> None:
    """Every address with every sample, as the owner: no server error, no dead end, and no statement that writes."""
    odd = [one for one in looks("owner") if one.status not in ANSWERS or one.written]
    none({one.address: f"{one.name}: {one.status} {one.written}" for one in odd})
    papers = [one for one in looks("owner") if one.kind == "application/pdf"]
    none({one.address: "no PDF" for one in papers if not one.content.startswith(b"%PDF-")})
    assert len(papers) > 20


def test_every_answer_tells_the_browser_to_be_careful(looks: Looks) -> None:
    """Scripts of this house only, in no other's frame, told to nobody, and no page kept where others use the browser."""
    wrong = {}
    for one in looks("owner"):
        said = one.headers
        policy = dict(part.strip().partition(" ")[::2] for part in said.get("Content-Security-Policy", "").split(";"))
        kept = said.get("Cache-Control", "")
        faults = [
            *([] if policy.get("default-src") == "'none'" and policy.get("script-src") == "'self'" else ["scripts"]),
            *([] if policy.get("frame-ancestors") == policy.get("base-uri") == "'none'" else ["frames"]),
            *(["unsafe"] if "unsafe" in str(policy) else []),
            *([] if said.get("X-Content-Type-Options") == "nosniff" else ["sniffing"]),
            *(
                []
                if said.get("Cross-Origin-Opener-Policy") == said.get("Cross-Origin-Resource-Policy") == "same-origin"
                else ["origin"]
            ),
            *([] if said.get("Referrer-Policy") in ("same-origin", "no-referrer") else ["referrer"]),
            *([] if "camera=()" in said.get("Permissions-Policy", "") else ["permissions"]),
            # A picture never changes under its address, and only who may see it gets it.
            *([] if "no-store" in kept or (one.kind == "image/jpeg" and kept.startswith("private")) else [f"kept: {kept}"]),
        ]
        if faults:
            wrong[one.address] = faults
    none(wrong)


@pytest.mark.looks
def test_every_paper_can_be_looked_at_before_it_is_printed(shop: Everything, looks: Looks) -> None:
    """One of each kind: its pages as pictures on a whole page, and the last of them is a picture."""
    client, wrong = signed_in(shop, "owner"), {}
    papers = {one.name: one.address for one in looks("owner") if one.kind == "application/pdf"}
    for address in papers.values():
        answer = client.get(address, {"look": "1"})
        assert answer["Content-Type"].startswith("text/html"), address
        page = PageReader(answer.content.decode())
        pictures = sorted(link for link in page.loaded if "look=png" in link)
        shown = client.get(pictures[-1])["Content-Type"] if pictures else "no picture"
        if page.faults() or shown != "image/png":
            wrong[address] = [*page.faults(), shown]
    none(wrong)


def test_a_form_without_its_csrf_token_is_refused(shop: Everything) -> None:
    client = signed_in(shop, "owner", enforce_csrf_checks=True)
    with nothing_written() as written:
        taken = {one.name: client.post(url_of(shop, one)).status_code for one in EVERY}
    none({name: status for name, status in taken.items() if status != 403})
    assert written == []


@pytest.mark.looks
def test_an_empty_form_is_no_server_error(shop: Everything) -> None:
    """Nothing typed, no token: refused in words, whatever the page."""
    client, wrong = signed_in(shop, "owner"), {}
    for one in EVERY:
        if one.name == "logout":
            continue
        status = client.post(url_of(shop, one)).status_code
        if status >= 500:
            wrong[one.name] = status
    none(wrong)


Pages = Callable[[str], list[tuple[str, PageReader]]]


@pytest.mark.looks
def test_every_page_is_whole(pages: Pages) -> None:
    """One heading, a title, nothing inline, no id twice, and on every form the tokens that let it act once and from here only."""
    none({address: faults for address, page in pages("owner") if (faults := page.faults())})


@pytest.mark.looks
@pytest.mark.parametrize("role", [Role.COUNTER, Role.BENCH, Role.OWNER])
def test_a_page_offers_only_what_this_person_may_open(shop: Everything, looks: Looks, pages: Pages, role: str) -> None:
    """Where a page leads to. Of links of one sort (from one kind of page to one kind, asking for the same) two are followed."""
    client, followed = signed_in(shop, role), Counter[object]()
    wrong: dict[str, str] = {}
    known = {one.address: "" for one in looks(role) if one.status in ANSWERS}
    for address, page in pages(role):
        for link in sorted(page.links | page.targets):
            path = link.partition("#")[0]
            if not link.startswith("/") or path in known:
                continue
            sort, fault = _sort_of(path, address), _fault_of(path, role)
            followed[sort] += 1
            if not fault and link in page.links and followed[sort] <= 2:
                known[path] = _fault_of_status(client.get(path).status_code)
            if fault or known.get(path):
                wrong.setdefault(path, f"{fault or known[path]}, and {address} leads there")
    none(wrong)


def _sort_of(path: str, leading: str) -> object:
    where, _, asked = path.partition("?")
    try:
        return resolve(leading).view_name, resolve(where).view_name, tuple(sorted(parse_qs(asked, keep_blank_values=True)))
    except Resolver404:
        return path


def _fault_of(path: str, role: str) -> str:
    try:
        found = resolve(path.partition("?")[0])
    except Resolver404:
        return "leads nowhere"
    roles = getattr(found.func, "roles", None)
    return "not for this role" if roles is not None and role != Role.OWNER and role not in roles else ""


def _fault_of_status(status: int) -> str:
    return "" if status in ANSWERS else f"answers {status}"


# A page whose address names one thing shows what belongs to it; these are lists all the same.
LISTS_OF_ONE = {"inventory:offers", "inventory:price_lists", "billing:account", "billing:lot_lines"}
# Tables that are no list: questions answered, forms drawn as tables, and the few rows that the owner sets up.
NO_LISTS = {
    *(
        "today",
        "search",
        "jobs:intake",
        "shop:calendar_links",
        "shop:buy_list",
        "shop:buy_basket",
        # Copies are files themselves; one's own browsers are a handful.
        "shop:backups",
        "shop:signed_in",
        "inventory:near",
        "inventory:make_up",
    ),
    *("shop:benches", "shop:set_classes", "shop:markup", "shop:place", "jobs:practices", "billing:books"),
}


def test_every_list_can_be_saved(shop: Everything, looks: Looks) -> None:
    """As CSV and as a workbook, for whoever may read the page; what is no list is named above."""
    lists = {one.name for one in EVERY if "<" not in one.route} - NO_LISTS | LISTS_OF_ONE
    wrong = {}
    for role in (Role.OWNER, Role.BENCH):
        client = signed_in(shop, role)
        for one in looks(role):
            page = one.content.decode() if one.is_page else ""
            if 'class="ruled' not in page or one.name not in lists:
                continue
            saved = {link for link in PageReader(page).links if "as=csv" in link or "as=xlsx" in link or "/csv/" in link}
            for link in saved:
                answer = client.get(link if link.startswith("/") else one.address.partition("?")[0] + link)
                if answer.status_code != 200 or "attachment" not in answer.headers.get("Content-Disposition", ""):
                    wrong[one.address] = f"{link} answers {answer.status_code}"
            if not saved:
                wrong[one.address] = f"{one.name} is a list that can't be saved"
    none(wrong)


def test_what_pages_load_is_there(shop: Everything, pages: Pages) -> None:
    client = signed_in(shop, "owner")
    wanted = {link for _, page in pages("owner") for link in page.loaded if link.startswith("/")}
    static = {link for link in wanted if link.startswith("/static/")}
    assert {link for link in static if finders.find(link.removeprefix("/static/")) is None} == set()
    none({link: status for link in wanted - static if (status := client.get(link).status_code) != 200})
    foreign = {link for _, page in pages("owner") for link in page.loaded if not link.startswith(("/", "data:"))}
    assert foreign == set(), "a page loads from another house"


class TestThePrivatePage:
    """The customer's page has no signing in: nothing on it may be another customer's."""

    @pytest.fixture
    def other(self, shop: Everything) -> Estimate:
        person = shop.staff["owner"]
        customer = make.a_customer("Zdenka Other", email="zdenka@example.org")
        job = make.a_job("awaiting_consent", customer=customer, person=person, fault="The other one's fault.")
        return Estimate.objects.get(job=job)

    def test_shows_its_own_estimate_and_nothing_of_another(self, shop: Everything, other: Estimate) -> None:
        page = Client().get(reverse("approve", args=[shop.token])).content.decode()
        assert shop.jobs["awaiting_consent"].number in page
        assert not any(text in page for text in (other.job.number, "Zdenka", "zdenka", "The other one's fault", other.digest))

    def test_does_not_take_an_answer_to_another_estimate(self, shop: Everything, other: Estimate) -> None:
        make_link(other, person=shop.staff["owner"], at=now())
        client, address = Client(), reverse("approve", args=[shop.token])
        typed = {"digest": other.digest, "who": "Iwona Brzask", "answer": "agreed", "tick": "on", "once": str(uuid4())}
        answer = client.post(address, {f"agree-{name}": value for name, value in typed.items()})
        assert "Zdenka" not in answer.content.decode()
        other.refresh_from_db()
        assert other.state == "sent"
        assert Estimate.objects.filter(job=shop.jobs["awaiting_consent"], state="sent").count() == 1

    @pytest.mark.parametrize("token", ["x", "0" * 43, "../../jobs", "%00"])
    def test_says_the_same_of_every_address_that_is_none(self, shop: Everything, token: str) -> None:
        answer = Client(raise_request_exception=False).get(f"/answer/{token}/")
        assert answer.status_code == 404
        assert not any(job.number in answer.content.decode() for job in shop.jobs.values())
