"""Bad input into every form and every address of the shop, on a shop with one of everything.

    .venv/bin/python -m tests.faults.bad_inputs --count 50000 [--database postgresql] [--seed 7] [--from N] [--minutes M]

Every form that a page shows is sent with its fields wrong, missing, doubled, of another form, of other objects, of an older
state, torn or written as something else; every address is asked with odd words behind it. An answer of 500, one that takes more
than 2 s of the processor, a table that changed although the form was refused: each is a fault, and any makes the exit code 1.
Each request is a transaction that is taken back, so the Nth of a seed is always the same; of what was accepted in spite of its
oddness some is verified before it goes. (CWE-20 improper input validation; OWASP ASVS 5.0.0, 2.2.)
"""

import argparse
import logging
import random
import re
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.faults.bad_values import Sent, a_get, a_post
from tests.faults.ground import DATABASES, differences, ground, say
from tests.journeys.forms import ShownForm, forms_on

if TYPE_CHECKING:
    from django.test import Client

MOST_SECONDS = 2.0
# Written whether or not something is refused: who came, and how a list was left.
MAY_CHANGE = {"shop_accessevent", "shop_signedin", "shop_keptfilter"}
VERIFIED_OF_A_FORM = 1
Counts = dict[str, int]


@dataclass
class Shown:
    """All that can be asked: forms as pages show them, addresses, names that addresses ask by, and who may sign in."""

    forms: list[ShownForm]
    addresses: list[str]
    names: list[str]
    clients: list["Client"]


@dataclass
class Found:
    asked: Counter[int] = field(default_factory=Counter)
    sorts: Counter[str] = field(default_factory=Counter)
    faults: dict[str, list[str]] = field(default_factory=dict)
    accepted: Counter[str] = field(default_factory=Counter)
    verified: int = 0
    longest: float = 0.0
    longest_wall: float = 0.0

    def fault(self, what: str, number: int, sent: Sent) -> None:
        of_this = self.faults.setdefault(what, [])
        of_this.append(f"{number}: {sent.method} {sent.path[:150]} {sent.sort} {sent.body[:200]!r}")
        # At once, too, as a long run may be ended before it tells.
        print(f"FAULT {what}: {of_this[-1]}", file=sys.stderr, flush=True)


def run(
    shown: Shown,
    count: int,
    seed: int = 1,
    start: int = 0,
    *,
    verifying: bool = True,
    told: Callable[[int], object] = int,
    until: float = float("inf"),
) -> Found:
    found, before = Found(), _counts()
    cookies = [client.cookies.output(header="") for client in shown.clients]
    for number in range(start, start + count):
        if time.perf_counter() > until:
            break
        dice = random.Random(f"{seed}-{number}")
        which = dice.choices(range(len(shown.clients)), (88, *[12 / (len(shown.clients) - 1)] * (len(shown.clients) - 1)))[0]
        shown.clients[which].cookies = SimpleCookie(cookies[which])
        sent = _made(shown, dice, number)
        try:
            _put(shown.clients[which], sent, found, before, number, verifying)
        except Exception as error:  # a broken transaction, say
            found.fault(f"outside of the answer: {type(error).__name__}: {str(error)[:200]}", number, sent)
        told(number)
    return found


def _made(shown: Shown, dice: random.Random, number: int) -> Sent:
    if number % 3 == 2:
        return a_get(shown.addresses[(number // 3) % len(shown.addresses)], shown.names, dice)
    return a_post(shown.forms[(number - number // 3) % len(shown.forms)], shown.forms, dice)


def _put(client: "Client", sent: Sent, found: Found, before: Counts, number: int, verifying: bool) -> None:
    from django.db import connection, transaction

    with transaction.atomic():
        with _writing() as written, connection.execute_wrapper(written):
            wall, began = time.perf_counter(), time.process_time()
            answer: Any = client.generic(sent.method, sent.path, sent.body, sent.kind, **sent.headers)  # type: ignore[arg-type]
            if answer.streaming:
                b"".join(answer.streaming_content)
            took, wall = time.process_time() - began, time.perf_counter() - wall
        found.asked[answer.status_code] += 1
        found.sorts.update(sent.sort.split("+"))
        found.longest, found.longest_wall = max(found.longest, took), max(found.longest_wall, wall)
        _judge(answer, sent, took, found, number)
        if answer.status_code >= 400 and written.seen and (changed := _changed(before)):
            found.fault(f"refused ({answer.status_code}), but changed {changed} by {_view(answer)}", number, sent)
        elif sent.method == "POST" and answer.status_code == 302 and written.seen:
            _verify(_view(answer), sent, found, number, verifying)
        transaction.set_rollback(True)


def _judge(answer: Any, sent: Sent, took: float, found: Found, number: int) -> None:
    if answer.status_code >= 500:
        found.fault(f"{answer.status_code} {_view(answer)}: {_where(answer)}", number, sent)
    if took > MOST_SECONDS:
        found.fault(f"slow {_view(answer)}", number, sent)
        found.faults[f"slow {_view(answer)}"][-1] += f" ({took:.1f} s)"


def _verify(view: str, sent: Sent, found: Found, number: int, verifying: bool) -> None:
    found.accepted[view] += 1
    if not verifying or found.accepted[view] > VERIFIED_OF_A_FORM:
        return
    found.verified += 1
    if wrong := differences():
        found.fault(f"accepted by {view}, and then verify: {wrong[0]}", number, sent)


def _view(answer: Any) -> str:
    match = getattr(answer, "resolver_match", None)
    return match.view_name if match else "no view"


def _where(answer: Any) -> str:
    """The kind of exception, and our own line that it came from."""
    if not getattr(answer, "exc_info", None):
        return "without an exception"
    _, error, trace = answer.exc_info
    lines = [one for one in traceback.extract_tb(trace) if ".venv" not in one.filename and "/tests/" not in one.filename]
    last = f"{Path(lines[-1].filename).name}:{lines[-1].lineno} {lines[-1].name}" if lines else ""
    deepest = traceback.extract_tb(trace)[-1]
    return f"{type(error).__name__}: {str(error)[:160]} at {last} ({Path(deepest.filename).name}:{deepest.lineno})"


class Writing:
    """Notes whether any statement could have changed a row; whether one is left of it, the counts say."""

    def __init__(self) -> None:
        self.seen = False

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.seen = self.seen or sql.lstrip()[:6].upper() in ("INSERT", "UPDATE", "DELETE")
        return execute(sql, params, many, context)


@contextmanager
def _writing() -> Iterator[Writing]:
    yield Writing()


def _counts() -> Counts:
    """Rows of every table. What is changed but not added has its row in the audit's."""
    from shop.audit.plan import own_models

    return {
        model._meta.db_table: model._default_manager.count() for model in own_models() if model._meta.db_table not in MAY_CHANGE
    }


def _changed(before: Counts) -> str:
    now = _counts()
    return ", ".join(f"{table} {count - before[table]:+}" for table, count in now.items() if count != before[table])


def shown_by(shop: Any, clients: list["Client"], forms: list[ShownForm] | None = None) -> Shown:
    """Reads every page once: one form of each sort, every address, and the names that links and forms ask by."""
    from django.urls import resolve, reverse

    from tests.house.one_of_everything import samples
    from tests.house.pages import addresses
    from tests.journeys.test_every_form import ASKED

    known: dict[Any, ShownForm] = {}
    names, all_addresses = set(ASKED), []
    for one in addresses():
        for arguments in samples(shop, one.route, one.name):
            address = reverse(one.name, kwargs=arguments)
            all_addresses.append(address)
            answer = clients[0].get(address) if forms is None and one.name != "logout" else None
            if answer is None or answer.status_code != 200 or not answer.headers["Content-Type"].startswith("text/html"):
                continue
            html = answer.content.decode()
            names.update(re.findall(r"[?;&]([a-z_]{1,30})=", html), re.findall(r' name="([a-z_]{1,30})"', html))
            for form in forms_on(address, html):
                known.setdefault((resolve(form.action.partition("?")[0]).view_name, tuple(sorted(form.values))), form)
    return Shown(forms or list(known.values()), all_addresses, sorted(names), clients)


def signed_in(shop: Any) -> list["Client"]:
    """The owner first, then the others, then a stranger."""
    from django.test import Client

    clients = [Client(raise_request_exception=False, SERVER_NAME="localhost") for _ in range(4)]
    for client, name in zip(clients, ("owner", "bench", "counter"), strict=False):
        client.force_login(shop.staff[name])
    return clients


@contextmanager
def a_standing_shop() -> Iterator[Any]:
    """A shop with one of everything, on a clock that stands."""
    from unittest import mock

    from django.test import override_settings
    from django.utils import timezone

    from tests.conftest import StillClock
    from tests.house.one_of_everything import one_of_everything

    fast = {"PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"], "AXES_ENABLED": False}
    with mock.patch.object(timezone, "now", StillClock()), override_settings(**fast):
        yield one_of_everything()


def line_of(found: Found, told: str) -> str:
    statuses = ", ".join(f"{count} x {status}" for status, count in sorted(found.asked.items()))
    return (
        f"{told}: {found.asked.total()} bad inputs ({statuses}), {found.accepted.total()} accepted, "
        f"{found.verified} of them verified, longest {found.longest:.2f} s of CPU ({found.longest_wall:.2f} s by the clock), "
        f"{sum(len(some) for some in found.faults.values())} faults of {len(found.faults)} kinds"
    )


def faults_told(found: Found) -> Iterator[str]:
    for what, some in sorted(found.faults.items(), key=lambda one: -len(one[1])):
        yield f"  {len(some)} x {what}"
        yield from (f"      {one}" for one in some[:2])


def main(words: list[str]) -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=50_000)
    asked.add_argument("--database", choices=DATABASES, default="sqlite")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--from", type=int, default=0, dest="start")
    asked.add_argument("--minutes", type=float, default=float("inf"), help="stop after so many, and tell what was found")
    options = asked.parse_args(words)
    with ground(options.database), a_standing_shop() as shop:
        logging.disable(logging.CRITICAL)
        shown, began = shown_by(shop, signed_in(shop)), time.perf_counter()
        say(f"{len(shown.forms)} forms, {len(shown.addresses)} addresses, {len(shown.names)} names that addresses ask by")
        found = run(
            shown,
            options.count,
            options.seed,
            options.start,
            told=lambda at: _progress(at - options.start, began),
            until=began + options.minutes * 60,
        )
        say(line_of(found, f"{options.database}, seed {options.seed}, {time.perf_counter() - began:.0f} s"))
        for line in faults_told(found):
            say(line)
        left = differences()
        say(f"verify at the end: {len(left)} differences", *left[:5])
    return 1 if found.faults or left else 0


def _progress(done: int, began: float) -> None:
    if done and done % 1_000 == 0:
        print(f"  {done} in {time.perf_counter() - began:.0f} s", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
