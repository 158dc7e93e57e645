"""The process that is killed: fits parts, bills, credits and takes out without pause, and says each act once it is done.

`python3 -m tests.faults.worker` works in SHOP_FOLDER. One line an act on standard output: what it was and what to look for.
"""

import os

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    from billing.services import credit, issue_invoice
    from jobs.models import Stage
    from jobs.services import log
    from shop.clock import now
    from shop.models import Role
    from tests.builders import a_fit, a_job, a_lot, a_staff, author, drawer_of

    def say(what: str, key: object) -> None:
        print(what, key, flush=True)

    person, owner = a_staff(), a_staff("owner", Role.OWNER)
    job = a_job(Stage.REPAIRING, with_fit=False, labour_minor=10_000_000)
    lot = a_lot(count=1000)
    drawer_of(lot)
    say("ready", job.pk)
    while True:
        entry = a_fit(job, "C2", lot)
        say("fitted", entry.pk)
        invoice = issue_invoice(job, person=person, at=now())
        say("invoiced", invoice.number)
        note = credit(invoice, "billed too early", person=owner, at=now())
        say("credited", note.number)
        out = log.take_out(entry, "too short", author(person), scrap=False)
        say("taken_out", out.pk)


if __name__ == "__main__":
    main()
