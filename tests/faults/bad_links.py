"""Private addresses that aren't good: forged, mutated, cut off, run out, revoked, answered, replaced, another customer's.

    .venv/bin/python -m tests.faults.bad_links --count 10000 [--database postgresql]

Each is looked at or posted to. None may decide or show anything, and within each kind of address all bad ones get one answer, the
same to the byte: status, headers, body.
"""

import argparse
import logging
import random
import secrets
import string
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from time import perf_counter
from uuid import uuid4

from tests.faults.ground import DATABASES, ground, say

LETTERS = string.ascii_letters + string.digits + "-_"
Answer = tuple[int, tuple[tuple[str, str], ...], bytes]


@dataclass
class Told:
    """What came of it. `differing` and `accepted` name the sort of address; both must stay empty."""

    asked: Counter[str] = field(default_factory=Counter)
    differing: Counter[str] = field(default_factory=Counter)
    accepted: Counter[str] = field(default_factory=Counter)
    noted: int = 0


@dataclass
class Case:
    """`good` are tokens that work now, by what they open; `bad` are dead ones by how they died."""

    good: dict[str, str]
    bad: dict[str, list[tuple[str, str]]]
    digests: dict[str, str]
    counts: Callable[[], tuple[int, ...]]


def run(count: int, seed: int = 1) -> Told:
    """`count` bad addresses in the database of this process, which must be set up."""
    from shop.models import AccessEvent
    from shop.models.audit import AccessKind

    chosen, case, told = random.Random(seed), a_case(), Told()
    before = AccessEvent.objects.filter(kind=AccessKind.BAD_LINK).count()
    quiet = logging.getLogger("django.request")
    level, quiet.level = quiet.level, logging.CRITICAL
    try:
        same: dict[str, Answer] = {}
        stood = case.counts()
        for number in range(count):
            sort, where, token = _an_address(chosen, case, number)
            method = chosen.choice(("get", "get", "head", "agree", "decline"))
            _ask(told, same, sort, where, token, method, case)
            if (stands := case.counts()) != stood:
                told.accepted[f"{sort} {where} {method}"] += 1
                stood = stands
    finally:
        quiet.level = level
    told.noted = AccessEvent.objects.filter(kind=AccessKind.BAD_LINK).count() - before
    return told


def _ask(told: Told, same: dict[str, Answer], sort: str, where: str, token: str, method: str, case: Case) -> None:
    from urllib.parse import quote

    from django.test import Client

    path = f"/answer/{quote(token)}/" if where == "estimate" else f"/calendar/{quote(token)}/days.ics"
    if where == "photo":
        path = f"/answer/{quote(token)}/photos/{case.digests['photo']}/"
    client = Client(raise_request_exception=False, SERVER_NAME="localhost")
    told.asked[sort] += 1
    wanted = 404
    if sort == "answered":
        # Not bad, but used up: it shows what was answered, and leads there whoever answers again.
        wanted = 302 if method in ("agree", "decline") else 200
    if method in ("agree", "decline") and where == "estimate":
        answer = client.post(path, _form(method, case.digests["open"]))
    else:
        answer = client.head(path) if method == "head" else client.get(path)
    kind = f"{where} {'head' if method == 'head' else 'whole'} {wanted}"
    got = (answer.status_code, tuple(sorted(answer.headers.items())), answer.content)
    if same.setdefault(kind, got) != got or answer.status_code != wanted or answer.cookies:
        told.differing[f"{sort} {where} {method}: {answer.status_code}"] += 1


def _form(which: str, digest: str) -> dict[str, str]:
    typed = {"digest": digest, "who": "Iwona Brzask", "answer": "agreed", "tick": "on", "note": "", "once": str(uuid4())}
    return {f"{which}-{name}": value for name, value in typed.items()}


def _an_address(chosen: random.Random, case: Case, number: int) -> tuple[str, str, str]:
    """In turn, so that a short run meets each sort too."""
    sort = SORTS[number % len(SORTS)]
    if sort in case.bad:
        where, token = chosen.choice(case.bad[sort])
        return sort, where, token
    where = chosen.choice(("estimate", "calendar", "photo"))
    token = case.good["calendar" if where == "calendar" else "open"]
    return sort, where, MADE[sort](chosen, token)


def _mutated(chosen: random.Random, token: str) -> str:
    place = chosen.randrange(len(token))
    # The last letter holds four bits only, so others there may stand for the same bytes: they are no other token for that.
    return token[:place] + chosen.choice(LETTERS.replace(token[place], "")) + token[place + 1 :]


def _odd(chosen: random.Random, token: str) -> str:
    return chosen.choice(
        (token + "=", token + "\n", f" {token}", token + "\x00", token[:-1] + "é", "é" * 43, "%", "'--", "a" * 5000)
    )


MADE: dict[str, Callable[[random.Random, str], str]] = {
    "forged": lambda chosen, token: "".join(chosen.choices(LETTERS, k=43)),
    "mutated": _mutated,
    "cut off": lambda chosen, token: token[: chosen.randrange(1, len(token))],
    "too long": lambda chosen, token: token + chosen.choice(LETTERS),
    "upside down": lambda chosen, token: token.swapcase() if token.swapcase() != token else token[::-1],
    "odd": _odd,
}
SORTS = (
    *MADE,
    "run out",
    "revoked",
    "replaced",
    "taken back",
    "superseded",
    "deactivated",
    "new password",
    "of another kind",
    "answered",
)


def a_case() -> Case:
    """Two customers' estimates, one open and one answered; and every way for an address to die, once each."""
    from jobs.models import ApprovalLink, Consent, Estimate
    from jobs.services import estimates
    from jobs.services.consents import Answer, record_answer
    from shop.calendars.links import end_links, make_link, revoke
    from shop.clock import now
    from shop.models import CalendarLink, Role, Staff
    from tests import builders as make

    make.a_profile()
    owner, when = make.a_staff("owner", Role.OWNER), now()
    bad: dict[str, list[tuple[str, str]]] = {}

    def sent(name: str) -> Estimate:
        customer = make.a_customer(name)
        return Estimate.objects.get(job=make.a_job("awaiting_consent", customer=customer, person=owner), state="sent")

    def link(estimate: Estimate) -> str:
        return estimates.make_link(estimate, person=owner, at=when)

    def dead(sort: str, where: str, token: str) -> None:
        bad.setdefault(sort, []).append((where, token))

    opened = sent("Iwona Brzask")
    replaced, current = link(opened), link(opened)
    dead("replaced", "estimate", replaced)
    dead("replaced", "photo", replaced)
    ran_out = sent("Zdenka Other")
    dead("run out", "estimate", link(ran_out))
    ApprovalLink.objects.filter(estimate=ran_out).update(expires_at=when - timedelta(seconds=1))
    revoked = sent("Zdenka Third")
    dead("revoked", "estimate", link(revoked))
    estimates.revoke_link(revoked, at=when)
    recalled = sent("Zdenka Fourth")
    dead("taken back", "estimate", link(recalled))
    estimates.recall(recalled, person=owner, at=when)
    older = sent("Zdenka Fifth")
    dead("superseded", "estimate", link(older))
    make.an_estimate(older.job)
    for sort, kill in (
        ("run out", lambda person: CalendarLink.objects.filter(person=person).update(expires_at=when)),
        ("revoked", lambda person: revoke(CalendarLink.objects.get(person=person), at=when)),
        ("deactivated", lambda person: Staff.objects.filter(pk=person.pk).update(is_active=False)),
        ("new password", lambda person: end_links(person, at=when)),
    ):
        person = make.a_staff(f"of {sort}", Role.COUNTER)
        dead(sort, "calendar", make_link("my telephone", person=person, at=when))
        kill(person)
    answered = sent("Zdenka Sixth")
    dead("answered", "estimate", link(answered))
    record_answer(answered, Answer(True, "in_person", "Zdenka Sixth", person=owner, cancellation_told=True), at=now())
    calendar = make_link("my telephone", person=owner, at=when)
    dead("of another kind", "estimate", calendar)
    dead("of another kind", "calendar", current)
    dead("of another kind", "photo", current)

    def counts() -> tuple[int, ...]:
        return Consent.objects.count(), Estimate.objects.filter(state="sent").count()

    return Case({"open": current, "calendar": calendar}, bad, {"open": opened.digest, "photo": "1"}, counts)


def main(words: list[str]) -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=10_000)
    asked.add_argument("--database", choices=DATABASES, default="sqlite")
    asked.add_argument("--seed", type=int, default=secrets.randbelow(10**6))
    options = asked.parse_args(words)
    with ground(options.database):
        began = perf_counter()
        told = run(options.count, options.seed)
        say(line_of(told, options.database, perf_counter() - began, options.seed))
        for name, count in (told.accepted + told.differing).items():
            say(f"  {count}: {name}")
    return 1 if told.accepted or told.differing else 0


def line_of(told: Told, database: str, seconds: float, seed: int) -> str:
    sorts = ", ".join(f"{count} {sort}" for sort, count in told.asked.items())
    return (
        f"{database}, seed {seed}: {told.asked.total()} bad addresses in {seconds:.0f} s ({sorts}): "
        f"{told.accepted.total()} accepted, {told.differing.total()} differing answers, {told.noted} written down"
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
