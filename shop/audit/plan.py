"""Which tables are audited, and which of their columns keep their values. Every model of the shop is in exactly one place.

Ledgers (`shop.append_only`) say themselves who and when, and can't be changed; so nothing is written twice for them. Of other
tables every change is written down: numbers, dates, choices and references with their values, words only where they are the
shop's own. Of words about people, and of secrets, it is kept that they changed, never what they were: so nobody's data lives on
here after it was erased.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps
from django.db import models

from shop.append_only import LEDGERS

OWN_APPS = ("shop", "inventory", "jobs", "billing")

NOT_AUDITED: dict[str, str] = {
    "shop_actonce": "the mark of a sent form says only that it was sent",
    "shop_keptfilter": "how somebody left a list changes nothing of the shop",
    "shop_longwork": "says itself who asked for it, when, and what came of it",
    "shop_signedin": "comings and goings are events of access",
    "shop_tally": "what was counted of the house at a moment; nobody's act changes it",
    "shop_tallyleaf": "lines of what was counted of the house",
    "inventory_balance": "a copy of what the movements sum to",
    "billing_openaccount": "a copy of what the rows of money sum to",
}

# Columns that change by being used; a row that changed in nothing else is no act of anybody.
BY_USE: dict[str, frozenset[str]] = {
    "shop_staff": frozenset({"last_login"}),
    "shop_calendarlink": frozenset({"read_at"}),
    "shop_secondfactor": frozenset({"last_step"}),
    "inventory_part": frozenset({"on_hand", "held"}),
    "inventory_lot": frozenset({"on_hand"}),
}

# Tables whose words are the shop's own or its suppliers' goods, never a customer's.
WORDS_KEPT = frozenset(
    {
        "shop_profile",
        "shop_markupstep",
        "shop_bench",
        "shop_backupplan",
        "inventory_part",
        "inventory_drawer",
        "inventory_cabinetface",
        "jobs_flattask",
        "jobs_setclass",
        "jobs_radiomodel",
        "jobs_calledfor",
        "jobs_tolerancepractice",
        "jobs_supplyfigures",
    }
)

_WORDS = (
    models.CharField,
    models.TextField,
    models.JSONField,
    models.BinaryField,
    models.FileField,
    models.GenericIPAddressField,
)


@dataclass(frozen=True, slots=True)
class Audited:
    """`watched`: columns whose change is written down; `silent`: those of them whose values aren't."""

    table: str
    key: str
    watched: tuple[str, ...]
    silent: frozenset[str]


@cache
def audited() -> tuple[Audited, ...]:
    return tuple(sorted(_plan(), key=lambda one: one.table))


def own_models() -> list[type[models.Model]]:
    """All models of the shop's apps, those between two others included."""
    found = (model for app in OWN_APPS for model in apps.get_app_config(app).get_models(include_auto_created=True))
    return [model for model in found if model._meta.managed and not model._meta.proxy]


def _plan() -> Iterator[Audited]:
    for model in own_models():
        table = model._meta.db_table
        if table not in NOT_AUDITED and table not in LEDGERS:
            yield _of(model)


def _of(model: type[models.Model]) -> Audited:
    table, key = model._meta.db_table, model._meta.pk
    assert key is not None
    skipped = BY_USE.get(table, frozenset())
    fields = {_column(one): one for one in model._meta.concrete_fields if not one.primary_key}
    watched = {column: one for column, one in fields.items() if column not in skipped}
    silent = frozenset(column for column, one in watched.items() if _is_silent(table, one))
    return Audited(table, _column(key), tuple(watched), silent)


def _column(field: Any) -> str:
    return str(field.column)


def _is_silent(table: str, field: Any) -> bool:
    return isinstance(field, _WORDS) and not field.choices and table not in WORDS_KEPT
