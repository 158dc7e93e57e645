"""Puts texts made to hurt into every column of words of a filled shop, past forms and services, as an old shop may hold them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import connection, models, transaction

from shop.append_only import create_triggers, drop_triggers
from shop.audit import triggers as audit_triggers

Maker = Callable[[str, int], str]
# Columns of codes that the program itself wrote, and that it reads again: not words, whatever their type.
CODES = frozenset(
    {
        *("username", "password", "session_key", "secret", "currency", "country", "time_zone", "locale", "digest", "technology"),
        *("search", "key", "token_digest", "token_hash", "code_hash", "series", "act", "part_kind", "part_class"),
        *(
            "buyer_country",
            "number",
            "rectifier",
            "ended_why",
            "polarity",
            "switch",
            "unit",
            "limit",
            "rule",
            "rules",
            "void_rule",
        ),
        *("file_kind", "encoding", "delimiter", "decimal_sign", "reasons", "findings", "accepted"),
        *("safety_practice", "practice", "test", "role", "wiring", "supply_kind", "lamp", "sheet"),
    }
)
# Told by the audit and of works under way: names of tables, views and pages.
WHOLE_TABLES = frozenset({"shop_auditentry", "shop_longwork", "shop_keptfilter", "shop_signedin", "shop_secondfactor"})


def word_fields(model: type[models.Model]) -> Iterator[models.Field]:  # type: ignore[type-arg]
    """Where a person's words stand."""
    for one in model._meta.concrete_fields:
        words = isinstance(one, (models.CharField, models.TextField)) and not one.choices and not one.primary_key
        if words and one.name not in CODES and one.max_length != 4 and model._meta.db_table not in WHOLE_TABLES:
            yield one


@contextmanager
def unguarded() -> Iterator[None]:
    """Ledgers may be written over meanwhile."""
    with transaction.atomic():
        drop_triggers(connection)
        with audit_triggers.standing_aside(connection):
            yield
        create_triggers(connection)


def spoil(maker: Maker) -> int:
    """Every word becomes `maker(name of the column, number)`, cut to what the column takes, and the number; gives how many."""
    from shop.audit.plan import own_models

    number = 0
    with unguarded():
        for model in own_models():
            fields = list(word_fields(model))
            for row in model._default_manager.all() if fields else ():
                texts = {}
                for one in fields:
                    number += 1
                    text, end = maker(f"{model._meta.db_table}.{one.name}", number), str(number)
                    if connection.vendor == "postgresql":
                        text = text.replace("\x00", "")  # it can't hold one
                    texts[one.name] = text[: (one.max_length or 4_000) - len(end)] + end
                model._default_manager.filter(pk=row.pk).update(**texts)
    return number
