"""The triggers that write an `AuditEntry` beside every change of an audited row, in the same transaction.

The other place beside `shop.append_only` with SQL of one database.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connections, transaction

from shop.append_only import present
from shop.audit.acting import FUNCTION, SETTING
from shop.audit.plan import Audited, audited

VERBS = {"I": "INSERT", "U": "UPDATE", "D": "DELETE"}
ENTRY = "shop_auditentry"
# In the place of a value that isn't kept.
SILENT = "…"
_COLUMNS = '"at", "person_id", "act", "what", "address", "table", "row", "verb", "before", "after"'


def name_of(table: str, verb: str) -> str:
    return f"{table}_audit_{VERBS[verb].lower()}"


def _now_on_sqlite() -> str:
    return "strftime('%Y-%m-%d %H:%M:%f', 'now') || '000'"


def _pairs(one: Audited, side: str, condition: bool) -> str:
    """SQL for a JSON object of the columns of OLD or NEW, only those that changed where `condition`."""
    parts = []
    for column in one.watched:
        value = f"'\"{SILENT}\"'" if column in one.silent else f'json_quote({side}."{column}")'
        pair = f"',\"{column}\":' || {value}"
        test = f'OLD."{column}" IS NOT NEW."{column}"' if condition else f'{side}."{column}" IS NOT NULL'
        parts.append(f"CASE WHEN {test} THEN {pair} ELSE '' END")
    # Halves, since a chain as deep as a table has columns would be parsed as deep.
    return f"'{{' || substr({_joined(parts)}, 2) || '}}'" if parts else "''"


def _joined(parts: list[str]) -> str:
    if len(parts) == 1:
        return parts[0]
    middle = len(parts) // 2
    return f"({_joined(parts[:middle])} || {_joined(parts[middle:])})"


def _sqlite(one: Audited, verb: str) -> str:
    side = "OLD" if verb == "D" else "NEW"
    before = {"I": "''", "U": _pairs(one, "OLD", True), "D": _pairs(one, "OLD", False)}[verb]
    after = _pairs(one, "NEW", True) if verb == "U" else "''"
    changed = " OR ".join(f'OLD."{column}" IS NOT NEW."{column}"' for column in one.watched)
    when = f"WHEN {changed} " if verb == "U" else ""
    who = ", ".join(f"{FUNCTION}({at})" for at in range(4))
    return (
        f'CREATE TRIGGER "{name_of(one.table, verb)}" AFTER {VERBS[verb]} ON "{one.table}" {when}BEGIN '
        f'INSERT INTO "{ENTRY}" ({_COLUMNS}) VALUES ({_now_on_sqlite()}, {who}, '
        f"'{one.table}', {side}.\"{one.key}\", '{verb}', {before}, {after}); END"
    )


# Arguments of the trigger: the key's column, then the watched columns, each silent one with a dash before it.
POSTGRESQL_FUNCTION = f"""
CREATE OR REPLACE FUNCTION shop_audit() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  said text[] := string_to_array(coalesce(current_setting('{SETTING}', true), ''), chr(31));
  was jsonb := CASE WHEN TG_OP <> 'INSERT' THEN to_jsonb(OLD) END;
  becomes jsonb := CASE WHEN TG_OP <> 'DELETE' THEN to_jsonb(NEW) END;
  before jsonb := '{{}}';
  after jsonb := '{{}}';
  named text;
  silent boolean;
BEGIN
  IF TG_OP <> 'INSERT' THEN
    FOR at IN 1 .. TG_NARGS - 1 LOOP
      silent := left(TG_ARGV[at], 1) = '-';
      named := ltrim(TG_ARGV[at], '-');
      IF TG_OP = 'UPDATE' THEN
        CONTINUE WHEN was -> named = becomes -> named;
        after := after || jsonb_build_object(named, CASE WHEN silent THEN '"{SILENT}"'::jsonb ELSE becomes -> named END);
      ELSE
        CONTINUE WHEN was ->> named IS NULL;
      END IF;
      before := before || jsonb_build_object(named, CASE WHEN silent THEN '"{SILENT}"'::jsonb ELSE was -> named END);
    END LOOP;
    IF TG_OP = 'UPDATE' AND after = '{{}}' THEN RETURN NULL; END IF;
  END IF;
  INSERT INTO "{ENTRY}" ({_COLUMNS}) VALUES (
    clock_timestamp(), nullif(said[1], '')::bigint, coalesce(said[2], ''), coalesce(said[3], ''), coalesce(said[4], ''),
    TG_TABLE_NAME, coalesce(becomes, was) ->> TG_ARGV[0], left(TG_OP, 1),
    CASE WHEN TG_OP = 'INSERT' THEN '' ELSE before::text END, CASE WHEN TG_OP = 'UPDATE' THEN after::text ELSE '' END
  );
  RETURN NULL;
END $$
"""


def _postgresql(one: Audited, verb: str) -> str:
    columns = (f"-{column}" if column in one.silent else column for column in one.watched)
    told = ", ".join(f"'{word}'" for word in (one.key, *columns))
    return (
        f'CREATE OR REPLACE TRIGGER "{name_of(one.table, verb)}" AFTER {VERBS[verb]} ON "{one.table}" '
        f"FOR EACH ROW EXECUTE FUNCTION shop_audit({told})"
    )


def there(connection: Any) -> list[Audited]:
    """What is audited of the tables that this database has; nothing before the table of entries is made."""
    found = set(present(connection, [ENTRY, *(one.table for one in audited())]))
    return [one for one in audited() if one.table in found] if ENTRY in found else []


def expected_names(connection: Any) -> set[str]:
    return {name_of(one.table, verb) for one in there(connection) for verb in VERBS}


def create(connection: Any) -> None:
    """Also in the place of triggers that an older program made. In one transaction: each for itself would wait for the disk."""
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRESQL_FUNCTION)
        for one in there(connection):
            for verb in VERBS:
                if connection.vendor == "postgresql":
                    cursor.execute(_postgresql(one, verb))
                    continue
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name_of(one.table, verb)}"')
                cursor.execute(_sqlite(one, verb))


def drop(connection: Any) -> None:
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for one in there(connection):
            for verb in VERBS:
                on = f' ON "{one.table}"' if connection.vendor == "postgresql" else ""
                cursor.execute(f'DROP TRIGGER IF EXISTS "{name_of(one.table, verb)}"{on}')


@contextmanager
def standing_aside(connection: Any) -> Iterator[None]:
    """For loading a whole shop, entries of the audit included: what is loaded was done by others, at other times."""
    drop(connection)
    try:
        yield
    finally:
        create(connection)


def stand_aside(sender: Any, using: str, **_: Any) -> None:
    """Before every `migrate`: SQLite drops no column that a trigger names, nor a table that one names."""
    if connections[using].vendor == "sqlite":
        drop(connections[using])


def keep_auditing(sender: Any, using: str, **_: Any) -> None:
    """After every `migrate`."""
    create(connections[using])
