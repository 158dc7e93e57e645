"""What is due on each invoice, from its credit notes and the rows of its money."""

from collections import defaultdict
from typing import Any, ClassVar

from django.db import migrations

IN, OUT, LET_GO = ("paid", "moved_in", "from_sale"), ("refund", "moved_out"), ("waived", "lost")
AT_ONCE = 1000


def find(apps: Any, schema_editor: Any) -> None:
    Invoice, OpenAccount = apps.get_model("billing", "Invoice"), apps.get_model("billing", "OpenAccount")
    money, let_go = _booked(apps.get_model("billing", "Payment"))
    credited: dict[int, int] = defaultdict(int)
    whole: set[int] = set()
    notes = Invoice.objects.filter(credits__isnull=False).order_by().values_list("credits", "gross_minor", "whole")
    for key, gross, is_whole in notes.iterator():
        credited[key] += gross
        if is_whole:
            whole.add(key)
    found = []
    bills = Invoice.objects.filter(kind="invoice").order_by("pk").values_list("pk", "gross_minor", "prepaid_minor")
    for key, gross, prepaid in bills.iterator():
        if key in whole:
            due = -money[key] - min(prepaid, max(-money[key], 0))
        else:
            standing = gross - credited[key] - prepaid - money[key]
            due = standing - min(let_go[key], max(standing, 0))
        if due:
            found.append(OpenAccount(invoice_id=key, due_minor=due))
    OpenAccount.objects.bulk_create(found, batch_size=AT_ONCE, ignore_conflicts=True)


def _booked(payments: Any) -> tuple[dict[int, int], dict[int, int]]:
    """Money on an invoice, and what of it was let go; what lets go is taken back by a line of its own kind."""
    money: dict[int, int] = defaultdict(int)
    let_go: dict[int, int] = defaultdict(int)
    rows = payments.objects.order_by().values_list("invoice", "kind", "counterpart", "amount_minor")
    for key, kind, takes_back, amount in rows.iterator():
        if kind in IN:
            money[key] += amount
        elif kind in OUT:
            money[key] -= amount
        elif kind in LET_GO:
            let_go[key] += -amount if takes_back is not None else amount
    return money, let_go


class Migration(migrations.Migration):
    dependencies: ClassVar = [("billing", "0005_open_accounts")]

    operations: ClassVar = [migrations.RunPython(find, migrations.RunPython.noop)]
