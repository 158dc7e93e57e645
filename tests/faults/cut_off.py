"""Cuts the connection to PostgreSQL at every statement of an act, and lets the server take nothing but reading.

    .venv/bin/python -m tests.faults.cut_off [--every N] [--standby]

Each act is a form sent to its page. Its connection is ended by the server (`pg_terminate_backend`) before one of its statements:
the page must say so in words (503), the act must be there wholly or not at all, and the same form sent again must act once, on a
connection that mends itself. Then the server takes no writes, by a setting or as a standby that nobody promoted: every page can
be read, and whoever sends something, signing in among it, is told so in words.
(https://www.postgresql.org/docs/current/functions-admin.html; hot-standby.html, “User's Overview”.)
"""

import argparse
import logging
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tests.faults.forms_at_once import Scene, Stage, filled, scenes, shown_form
from tests.faults.ground import differences, ground, say

TOLD = "The database doesn’t answer"
READ_ONLY = "Nothing can be written just now"
SHORT = ("fit a part",)
PASSWORD = "a-good-long-password"


class Cutting:
    """Counts what goes to the database, and has the server end the connection before one of the statements."""

    def __init__(self, url: str, moment: int | None) -> None:
        self.url, self.moment, self.now = url, moment, 0

    def statement(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        self.pass_by()
        return execute(sql, params, many, context)

    def pass_by(self) -> None:
        if self.now == self.moment:
            end_connection(self.url)
        self.now += 1


def end_connection(url: str) -> None:
    """By the server, as whoever looks after it would; returns once it is gone."""
    import psycopg
    from django.db import connection

    number = connection.connection.info.backend_pid
    with psycopg.connect(url, autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s)", [number])
        while other.execute("SELECT 1 FROM pg_stat_activity WHERE pid = %s", [number]).fetchone():
            time.sleep(0.01)


@contextmanager
def cutting(url: str, moment: int | None) -> Iterator[Cutting]:
    """The end of a transaction is a moment, too, which no statement shows."""
    from django.db import connection

    cut, commit = Cutting(url, moment), connection._commit  # type: ignore[attr-defined]

    def committed() -> None:
        cut.pass_by()
        commit()

    connection._commit = committed  # type: ignore[attr-defined]
    try:
        with connection.execute_wrapper(cut.statement):
            yield cut
    finally:
        connection._commit = commit  # type: ignore[attr-defined]


def sent(client: Any, action: str, data: dict[str, Any]) -> Any:
    """As the server does it: what was left of the connection is looked at first. The test client leaves that out."""
    from django.db import close_old_connections

    close_old_connections()
    return client.post(action, data)


def form_of(client: Any, scene: Scene) -> dict[str, Any]:
    return filled(shown_form(client, scene.page, scene.action), scene.typed)


def cut_everywhere(scene: Scene, client: Any, url: str, every: int) -> Iterator[str]:
    """Gives every fault; says what it did at the end."""
    before, answer = scene.made(), None
    with cutting(url, None) as counted:
        answer = sent(client, scene.action, form_of(client, scene))
        moments = counted.now
    if answer.status_code != 302 or scene.made() != before + 1:
        yield f"{scene.name}: isn't done even where nothing is cut off ({answer.status_code})"
        return
    scene.tidy()
    cuts, told = 0, 0
    for moment in range(0, moments, every):
        data, before = form_of(client, scene), scene.made()
        with cutting(url, moment) as cut:
            answer = sent(client, scene.action, data)
        if cut.now <= moment:
            scene.tidy()
            continue
        cuts, told = cuts + 1, told + (answer.status_code == 503)
        yield from (f"{scene.name}, cut off at {moment}: {one}" for one in _wrong(scene, client, data, before, answer))
        scene.tidy()
    say(f"{scene.name}: cut off at {cuts} of {moments} statements, {told} times told so")


def _wrong(scene: Scene, client: Any, data: dict[str, Any], before: int, answer: Any) -> Iterator[str]:
    from django.db import close_old_connections

    close_old_connections()
    there = scene.made() - before
    if answer.status_code == 503 and TOLD not in answer.content.decode():
        yield "told, but not in our words"
    elif answer.status_code not in (302, 503):
        yield f"answered with {answer.status_code}"
    if there not in (0, 1) or (answer.status_code == 302) > there:
        yield f"answered with {answer.status_code}, and the act is there {there} times"
    again = sent(client, scene.action, data)
    if again.status_code != 302 or scene.made() != before + 1:
        yield f"sent again: {again.status_code}, and the act is there {scene.made() - before} times"


def read_only_faults(stage: Stage, acts: list[Scene], every_page: bool) -> Iterator[str]:
    """With a server that takes no writes: what can be read, and what is said to who sends something."""
    from django.db import connections
    from django.test import Client
    from django.urls import reverse

    connections.close_all()
    client = stage.clients[0]
    pages = (
        list(_pages()) if every_page else ["/", reverse("shop:customers"), reverse("jobs:benches"), reverse("billing:invoices")]
    )
    for page in pages:
        if (answer := client.get(page)).status_code >= 500:
            yield f"{page} can't be read: {answer.status_code} {(getattr(answer, 'exc_info', None) or ('', ''))[1]!r:.200}"
    for scene in acts:
        yield from _told(scene.name, client.post(scene.action, form_of(client, scene)))
    stranger = Client(raise_request_exception=False)
    if (door := stranger.get(reverse("login"))).status_code != 200:
        yield f"the door answers {door.status_code}"
    for password in (PASSWORD, "not the one"):
        yield from _told("signing in", stranger.post(reverse("login"), {"username": "owner", "password": password}))
    yield from _told("signing out", stage.clients[1].post(reverse("logout")))
    say(f"{len(pages)} pages read, {len(acts) + 3} times sent something")


def _pages() -> Iterator[str]:
    from django.urls import NoReverseMatch, reverse

    from tests.house.pages import addresses

    for one in addresses():
        try:
            yield reverse(one.name)
        except NoReverseMatch:
            continue


def _told(what: str, answer: Any) -> Iterator[str]:
    if answer.status_code != 503 or READ_ONLY not in answer.content.decode():
        yield f"{what}: {answer.status_code} and not told that nothing can be written"


@contextmanager
def no_writes(url: str) -> Iterator[None]:
    import psycopg

    def tell(how: str) -> None:
        with psycopg.connect(url, autocommit=True) as server:
            server.execute("SET default_transaction_read_only = off")
            server.execute(f"ALTER DATABASE shop SET default_transaction_read_only = {how}".encode())

    tell("on")
    try:
        yield
    finally:
        tell("off")


@contextmanager
def following(primary: Any) -> Iterator[None]:
    """The shop speaks to a standby that follows the primary, as after a mistake in DATABASE_URL."""
    from django.db import connection, connections

    from tests.faults.standby import free_port, new_standby

    standby, port = new_standby(primary, free_port()), connection.settings_dict["PORT"]
    connections.close_all()
    connection.settings_dict["PORT"] = standby.port
    try:
        yield
    finally:
        connections.close_all()
        connection.settings_dict["PORT"] = port
        standby.stop()
        shutil.rmtree(standby.folder, ignore_errors=True)


def run(every: int, wanted: tuple[str, ...], standby: bool) -> int:
    found = list[str]()
    with ground("postgresql") as here:
        assert here.cluster is not None
        from django.conf import settings

        logging.disable(logging.CRITICAL)
        settings.ALLOWED_HOSTS = ["testserver"]
        stage, url = Stage(), here.cluster.url
        stage.owner.set_password(PASSWORD)
        stage.owner.save()
        stage.clients[0].force_login(stage.owner)
        acts = [one for one in scenes(stage) if not wanted or one.name in wanted]
        for scene in acts:
            found += cut_everywhere(scene, stage.clients[0], url, every)
        found += differences()
        with no_writes(url):
            found += read_only_faults(stage, acts, not wanted)
        if standby:
            with following(here.cluster):
                found += (f"on a standby: {one}" for one in read_only_faults(stage, acts, True))
    say(*(f"{one}\n" for one in found))
    say(f"{len(found)} faults")
    return len(found)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=int, default=1, help="cut at each of so many statements only")
    parser.add_argument("--short", action="store_true", help="one act and a few pages")
    parser.add_argument("--standby", action="store_true", help="read from a standby as well")
    options = parser.parse_args()
    return 1 if run(options.every, SHORT if options.short else (), options.standby) else 0


if __name__ == "__main__":
    sys.exit(main())
