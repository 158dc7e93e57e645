"""The whole shop derived again from its ledgers and logs. Each app brings its own looks; this puts them together."""

from collections.abc import Iterator

from django.db import connection

import billing.verification
import inventory.verification
import jobs.verification
from shop.append_only import expected_names, trigger_names
from shop.audit import triggers as audit_triggers
from shop.differences import Found, Looker, look


def triggers() -> Found:
    """The database itself keeps every ledger append-only."""
    there = trigger_names(connection)
    missing = "trigger {} is missing: its table can be rewritten"
    return look(
        "database: ledgers are append-only",
        ([] if name in there else [missing.format(name)] for name in sorted(expected_names(connection))),
    )


def audit() -> Found:
    """Every change of a row that isn't a ledger's is written down with who made it."""
    there = trigger_names(connection)
    missing = "trigger {} is missing: changes of its table aren't written down"
    return look(
        "database: every change is written down",
        ([] if name in there else [missing.format(name)] for name in sorted(audit_triggers.expected_names(connection))),
    )


LOOKS: tuple[Looker, ...] = (
    triggers,
    audit,
    *inventory.verification.LOOKS,
    *jobs.verification.LOOKS,
    *billing.verification.LOOKS,
)


def verify() -> Iterator[Found]:
    """What each look found, one after another."""
    return (looker() for looker in LOOKS)
