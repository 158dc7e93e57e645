"""What is being done, by whom and from where: kept beside the running request or command, read by the database's triggers.

SQLite asks through a function that every connection of ours has, so a program without it can't write to an audited table at
all. PostgreSQL has a setting of the session, told before the first write of an act, and again where a rollback took it back.
"""

import secrets
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

FUNCTION = "shop_acting"
SETTING = "shop.acting"
SEPARATOR = "\x1f"
WRITES = ("INSERT", "UPDATE", "DELETE")
WHAT_LENGTH = 120


def _new_key() -> str:
    return secrets.token_hex(8)


@dataclass(slots=True)
class Act:
    """`what` is a page's name or a command's; `person` a primary key. All that is written meanwhile has the same `key`."""

    person: int | None = None
    what: str = ""
    address: str = ""
    key: str = field(default_factory=_new_key)

    def told(self) -> str:
        return SEPARATOR.join((str(self.person or ""), self.key, self.what[:WHAT_LENGTH], self.address[:45]))


def _of_process() -> Act:
    """What this process is where nothing else was said: a command of the program, or something that only imports it."""
    if len(sys.argv) > 1 and Path(sys.argv[0]).name == "manage.py":
        return Act(what=f"command {sys.argv[1]}")
    return Act()


_process = _of_process()
_acting: ContextVar[Act | None] = ContextVar("acting", default=None)


def acting_now() -> Act:
    return _acting.get() or _process


@contextmanager
def acting(person: Any, what: str, address: str = "") -> Iterator[Act]:
    """Whatever is written inside was done by this member of staff (None: the program itself), on this page or command."""
    act = Act(getattr(person, "pk", None), what, address)
    before = _acting.set(act)
    try:
        yield act
    finally:
        _acting.reset(before)


def _answer(which: int) -> Any:
    act = acting_now()
    return (act.person, act.key, act.what[:WHAT_LENGTH], act.address[:45])[which]


def teach_sqlite(raw: sqlite3.Connection) -> None:
    """Give a connection of Python's own the function that the triggers ask: 0 who, 1 key, 2 what, 3 from where."""
    raw.create_function(FUNCTION, 1, _answer)


def connect(sender: Any, connection: Any, **_: Any) -> None:
    """For every new connection of the framework."""
    if connection.vendor == "sqlite":
        teach_sqlite(connection.connection)
    elif connection.vendor == "postgresql":
        connection.shop_told = None
        if _tell_first not in connection.execute_wrappers:
            connection.execute_wrappers.append(_tell_first)


def _tell_first(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]) -> Any:
    if sql.startswith(WRITES):
        _tell(context["connection"])
    return execute(sql, params, many, context)


def _tell(connection: Any) -> None:
    """Nothing where the session knows already. What was told inside a block that ended may have been rolled back with it."""
    act, blocks = acting_now().told(), connection.atomic_blocks
    told = connection.shop_told
    if told is not None and told[0] == act and (told[1] is None or any(one is told[1] for one in blocks)):
        return
    with connection.connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, false)", (SETTING, act))
    connection.shop_told = (act, blocks[-1] if blocks else None)
