"""One of the processes of `standby`: fits, bills, credits and takes out, and goes on with whichever server takes writes.

Its DATABASE_URL names both servers and asks for the one that takes writes, as a shop's own would. One line an act that was
acknowledged: when, what, and what to look for. `broke` where the server went away: nobody was told of that act.
"""

import os
import time

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    from django.db import DatabaseError, connections

    while True:
        try:
            _work()
        except DatabaseError as error:
            print(time.time(), "broke", " ".join(str(error).split())[:80], flush=True)
            connections.close_all()
            time.sleep(0.05)


def _work() -> None:
    """Jobs one after another, as a job can be billed a few times only before it is long."""
    from billing.services import credit, issue_invoice
    from jobs.models import Stage
    from jobs.services import log
    from shop.clock import now
    from shop.models import Role
    from tests.builders import a_fit, a_job, a_lot, a_staff, author, drawer_of

    person, owner = a_staff(), a_staff("owner", Role.OWNER)
    job = a_job(Stage.REPAIRING, with_fit=False, labour_minor=10_000_000)
    lot = a_lot(count=1000)
    drawer_of(lot)
    for _ in range(20):
        entry = a_fit(job, "C2", lot)
        _say("fitted", entry.pk)
        _say("invoiced", (invoice := issue_invoice(job, person=person, at=now())).number)
        _say("credited", credit(invoice, "billed too early", person=owner, at=now()).number)
        _say("taken_out", log.take_out(entry, "too short", author(person), scrap=False).pk)


def _say(what: str, key: object) -> None:
    print(time.time(), what, key, flush=True)


if __name__ == "__main__":
    main()
