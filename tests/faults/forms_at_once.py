"""One form sent several times at once must act once; two people who change the same thing at once must not lose a word.

`python3 -m tests.faults.forms_at_once --posts 1000 --races 500 --database sqlite` (or `postgresql`). Every form is read off its
page as a browser would and sent by threads that start together: the same one by two or three of them (double click, bad network,
two tabs), or two different ones made in sight of the same state. Of the first exactly one may act; of the second exactly one is
taken, and the other gets the page back with what was typed on it.
"""

import argparse
import logging
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Barrier
from typing import Any

from tests.faults.ground import DATABASES, differences, ground, say
from tests.journeys.forms import forms_on

AT_ONCE = 3
Sent = dict[str, Any]


@dataclass(frozen=True)
class Scene:
    """A form of a page, what is typed into it, and how many of the things that it makes there are."""

    name: str
    page: str
    action: str
    typed: Sent
    made: Callable[[], int]
    tidy: Callable[[], object] = lambda: None


@dataclass(frozen=True)
class Edit:
    """A form that changes `field`; `stored` reads what is kept, as the form writes it."""

    name: str
    page: str
    action: str
    field: str
    texts: Callable[[int], tuple[str, str]]
    stored: Callable[[], str]
    more: Sent


def shown_form(client: Any, page: str, action: str) -> Sent:
    """The form's fields as they stand on the page, its token and what the person saw among them."""
    html = client.get(page).content.decode()
    form = next((one for one in forms_on(page, html) if one.action.partition("?")[0] == action.partition("?")[0]), None)
    if form is None:
        raise RuntimeError(f"{page} has no form for {action}")
    return {name: values for name, values in form.values.items() if values}


class Threads:
    """Threads that send at the same moment; each has its own connection to the database for as long as it lives."""

    def __init__(self, count: int) -> None:
        self.pool = ThreadPoolExecutor(count)

    def send(self, sendings: list[tuple[Any, str, Sent]]) -> list[Any]:
        gate = Barrier(len(sendings))

        def one(sending: tuple[Any, str, Sent]) -> Any:
            client, action, data = sending
            gate.wait()
            return client.post(action, data)

        return list(self.pool.map(one, sendings))

    def close(self) -> None:
        from django.db import connections

        for _ in range(8):
            self.pool.submit(connections.close_all)
        self.pool.shutdown()


class Stage:
    """A shop with what the forms act on, and three people signed in."""

    def __init__(self) -> None:
        from django.test import Client

        from jobs.models import Stage as JobStage
        from shop.models import Role
        from tests.builders import a_flat_task, a_job, a_lot, a_profile, a_staff, a_supplier, some_work

        a_profile()
        people = [a_staff("owner", Role.OWNER), a_staff("second", Role.OWNER), a_staff("third", Role.OWNER)]
        self.owner = people[0]
        self.clients = [Client(raise_request_exception=False) for _ in people]
        for client, person in zip(self.clients, people, strict=True):
            client.force_login(person)
        self.job = a_job(JobStage.REPAIRING, with_fit=False, labour_minor=10**9)
        some_work(self.job)
        self.to_bill = a_job(JobStage.REPAIRING, with_fit=False, labour_minor=10**9)
        self.lot, self.supplier, self.task = a_lot(count=90_000), a_supplier(), a_flat_task()
        some_work(self.to_bill)


def scenes(stage: Stage) -> list[Scene]:
    from django.urls import reverse

    from billing.models import Invoice, Payment
    from inventory.models import Lot, Movement, Part
    from jobs.models import Deposit, LabourEntry, LogEntry
    from shop.models import Customer
    from tests.builders import drawer_of, position_of

    lot, drawer = stage.lot, drawer_of(stage.lot)
    spot, fit_at = (reverse("jobs:position", args=[position_of(stage.job, name).pk]) for name in ("R1", "C2"))
    receive = reverse("inventory:receive") + f"?part={lot.part_id}"
    money, labour = reverse("billing:job_money", args=[stage.job.pk]), reverse("jobs:labour", args=[stage.job.pk])
    issue = reverse("billing:issue", args=[stage.to_bill.pk])
    count = reverse("inventory:count", args=[lot.pk, drawer.pk])
    scrap = reverse("inventory:scrap", args=[lot.pk, drawer.pk])
    new_customer, new_part = reverse("shop:customer_new"), reverse("inventory:part_new")
    numbers = iter(range(10**6))
    paying = _standing_bill(stage)
    pay = reverse("billing:pay", args=[paying.pk])
    return [
        Scene("receive a lot", receive, receive, {"count": "5", "cost": "1.00"}, Lot.objects.count),
        Scene("fit a part", fit_at, f"{fit_at}fit/", {"offer": f"{lot.pk}:{drawer.pk}"}, _fitted),
        Scene("log a reading", spot, f"{spot}measured/", {"measured": "231K"}, LogEntry.objects.count),
        Scene("log time", labour, f"{labour}time/", {"minutes": "15"}, LabourEntry.objects.count),
        Scene("take a deposit", money, f"{money}deposit/", {"deposit": "5.00"}, Deposit.objects.count),
        Scene("scrap", scrap, scrap, {"count": "1", "reason": "bent"}, Movement.objects.filter(kind="scrapped").count),
        Scene("count", count, count, {"counted": "=", "reason": "counted"}, Movement.objects.filter(kind="counted").count),
        Scene("new customer", new_customer, new_customer, {"name": lambda: f"Number {next(numbers)}"}, Customer.objects.count),
        Scene("new part", new_part, new_part, {"kind": "other", "marking": lambda: f"Thing {next(numbers)}"}, Part.objects.count),
        Scene("invoice", issue, issue, {}, Invoice.objects.count, _take_back(stage)),
        Scene("pay", pay, pay, {"amount": "0.01", "how": "cash"}, Payment.objects.count),
    ]


def _fitted() -> int:
    from inventory.models import Movement

    return int(Movement.objects.filter(kind="fitted").count())


def _standing_bill(stage: Stage) -> Any:
    """An invoice that a thousand payments of a penny don't settle."""
    from jobs.models import Stage as JobStage
    from tests.builders import a_job, an_invoice, some_work

    job = a_job(JobStage.REPAIRING, with_fit=False, labour_minor=10**9)
    some_work(job)
    return an_invoice(job)


def _take_back(stage: Stage) -> Callable[[], object]:
    from billing.models import Invoice
    from billing.services import credit
    from shop.clock import now

    def tidy() -> object:
        bill = Invoice.objects.filter(job=stage.to_bill, kind="invoice").order_by("pk").last()
        return credit(bill, "to bill it once more", person=stage.owner, at=now())

    return tidy


def edits(stage: Stage) -> list[Edit]:
    from django.urls import reverse

    from inventory.models import Part, Supplier
    from jobs.models import FlatTask, LogEntry
    from shop.models import Customer, Profile
    from tests.builders import position_of

    part, supplier = stage.lot.part, stage.supplier
    spot = position_of(stage.to_bill, "R1")
    pages = {
        "part": reverse("inventory:part_change", args=[part.pk]),
        "supplier": reverse("inventory:supplier_change", args=[supplier.pk]),
        "customer": reverse("shop:customer_change", args=[stage.job.customer_id]),
        "task": reverse("shop:flat_task_change", args=[stage.task.pk]),
        "profile": reverse("shop:profile"),
        "position": reverse("jobs:position", args=[spot.pk]),
    }

    def words(number: int) -> tuple[str, str]:
        return f"first {number}", f"second {number}"

    def ohms(number: int) -> tuple[str, str]:
        return f"{210 + number % 9}.1K", f"{210 + number % 9}.2K"

    def edit(name: str, field: str, stored: Callable[[], str]) -> Edit:
        return Edit(f"change {name}", pages[name], pages[name], field, words, stored, {})

    return [
        edit("part", "description", lambda: str(Part.objects.get(pk=part.pk).description)),
        edit("supplier", "note", lambda: str(Supplier.objects.get(pk=supplier.pk).note)),
        edit("customer", "note", lambda: str(Customer.objects.get(pk=stage.job.customer_id).note)),
        edit("task", "name", lambda: str(FlatTask.objects.get(pk=stage.task.pk).name)),
        edit("profile", "terms", lambda: str(Profile.objects.get(pk=1).terms)),
        Edit(
            "log a reading",
            pages["position"],
            f"{pages['position']}measured/",
            "measured",
            ohms,
            lambda: str(LogEntry.objects.filter(position=spot, kind="measured").order_by("seq").last().text),  # type: ignore[union-attr]
            {},
        ),
    ]


def filled(form: Sent, typed: Sent) -> Sent:
    given = {name: value() if callable(value) else value for name, value in typed.items()}
    if given.get("counted") == "=":
        given["counted"] = str(int(form["shown"][0]) - 1)
    return {**form, **given}


def post_many(stage: Stage, posts: int) -> Iterator[str]:
    """Each form is sent by two or three threads at once; gives what went wrong."""
    threads, listed = Threads(AT_ONCE), scenes(stage)
    for number in range(posts):
        scene = listed[number % len(listed)]
        data = filled(shown_form(stage.clients[0], scene.page, scene.action), scene.typed)
        before = scene.made()
        answers = threads.send([(stage.clients[0], scene.action, data)] * (2 + number % (AT_ONCE - 1)))
        acted = scene.made() - before
        codes = sorted(answer.status_code for answer in answers)
        if acted != 1 or any(code != 302 for code in codes):
            yield f"{scene.name}: sent {len(answers)} times, acted {acted} times, answered {codes}"
        scene.tidy()
    threads.close()


def race(stage: Stage, races: int) -> Iterator[str]:
    """Two people send different texts made in sight of the same state; gives what went wrong."""
    threads, listed = Threads(2), edits(stage)
    for number in range(races):
        edit = listed[number % len(listed)]
        texts = edit.texts(number)
        two = stage.clients[1:]
        forms = [shown_form(client, edit.page, edit.action) for client in two]
        sendings = [
            (client, edit.action, {**form, **edit.more, edit.field: text})
            for client, form, text in zip(two, forms, texts, strict=True)
        ]
        answers = threads.send(sendings)
        yield from _lost(edit, texts, answers)
    threads.close()


def _lost(edit: Edit, texts: tuple[str, str], answers: list[Any]) -> Iterator[str]:
    codes = [answer.status_code for answer in answers]
    taken = [text for text, code in zip(texts, codes, strict=True) if code == 302]
    if len(taken) != 1:
        yield f"{edit.name}: {codes}, {len(taken)} of two were taken"
        return
    if edit.stored() != taken[0]:
        yield f"{edit.name}: “{taken[0]}” was taken and “{edit.stored()}” is kept"
    for text, answer in zip(texts, answers, strict=True):
        if answer.status_code != 302 and (answer.status_code >= 500 or text not in answer.content.decode()):
            yield f"{edit.name}: “{text}” was refused ({answer.status_code}) and isn't on the page any more"


def run(posts: int, races: int, database: str) -> int:
    logging.disable(logging.CRITICAL)
    with ground(database):
        from django.conf import settings

        settings.ALLOWED_HOSTS = ["testserver"]
        stage = Stage()
        began = time.monotonic()
        doubled = list(post_many(stage, posts))
        middle = time.monotonic()
        lost = list(race(stage, races))
        ended = time.monotonic()
        left = differences()
    for fault, times in Counter([*doubled, *lost, *left]).items():
        say(f"{times} x {fault}")
    say(f"{database}: {posts} forms sent two or three times at once in {middle - began:.0f} s, {len(doubled)} faults")
    say(f"{database}: {races} races of two editors in {ended - middle:.0f} s, {len(lost)} silent overwrites or lost texts")
    say(f"verify: {len(left)} differences")
    return len(doubled) + len(lost) + len(left)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--posts", type=int, default=1000)
    parser.add_argument("--races", type=int, default=500)
    parser.add_argument("--database", choices=DATABASES, default="sqlite")
    options = parser.parse_args()
    return 1 if run(options.posts, options.races, options.database) else 0


if __name__ == "__main__":
    sys.exit(main())
