"""Copying a PostgreSQL database by its own dump, in one snapshot, and restoring it by its own tool.

https://www.postgresql.org/docs/current/app-pgdump.html (`--snapshot`), and `pg_export_snapshot` in chapter 9.28 there: counts and
dump see the same moment, whatever others write meanwhile.
"""

import os
import secrets
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
from psycopg import sql

from shop.backup.sums import Ask
from shop.backup.troubles import Trouble
from shop.setup import cluster

SCRATCH = "shop_proof_"
LAST_WORDS = 400
# What libpq reads from its surroundings where the settings name it.
PASSED_ON = {"sslmode": "PGSSLMODE", "sslrootcert": "PGSSLROOTCERT", "sslcert": "PGSSLCERT", "sslkey": "PGSSLKEY"}


@dataclass(frozen=True, slots=True)
class Server:
    """A database and how to reach it."""

    host: str
    port: str
    user: str
    password: str
    name: str
    options: tuple[tuple[str, str], ...] = ()

    @property
    def url(self) -> str:
        """As DATABASE_URL takes it."""
        from urllib.parse import quote, urlencode

        password = f":{quote(self.password, safe='')}" if self.password else ""
        user = f"{quote(self.user, safe='')}{password}@" if self.user else ""
        port = f":{self.port}" if self.port else ""
        asked = f"?{urlencode(self.options)}" if self.options else ""
        return f"postgres://{user}{quote(self.host, safe='')}{port}/{quote(self.name, safe='')}{asked}"

    def of(self, name: str) -> "Server":
        return Server(self.host, self.port, self.user, self.password, name, self.options)

    def connect(self, *, autocommit: bool = True) -> "psycopg.Connection[Any]":
        told = {"host": self.host, "port": self.port, "user": self.user, "password": self.password, "dbname": self.name}
        given = {key: value for key, value in told.items() if value}
        return psycopg.connect(**given, **dict(self.options), autocommit=autocommit, connect_timeout=20)  # type: ignore[arg-type]

    def surroundings(self) -> dict[str, str]:
        """The password goes by the environment: what stands in a command can be read by everybody on the machine."""
        told = {"PGHOST": self.host, "PGPORT": self.port, "PGUSER": self.user, "PGPASSWORD": self.password}
        told |= {PASSED_ON[key]: value for key, value in self.options if key in PASSED_ON}
        return {**os.environ, **{key: value for key, value in told.items() if value}, "PGCONNECT_TIMEOUT": "20"}


def server_of(settings: Mapping[str, Any]) -> Server:
    """From the framework's settings of a database."""
    options = tuple(sorted((key, str(value)) for key, value in settings.get("OPTIONS", {}).items() if key in PASSED_ON))
    host, port, user, password, name = (str(settings.get(key) or "") for key in ("HOST", "PORT", "USER", "PASSWORD", "NAME"))
    return Server(host, port, user, password, name, options)


def ask_of(connection: "psycopg.Connection[Any]") -> Ask:
    def ask(query: str) -> list[tuple[Any, ...]]:
        return connection.execute(query).fetchall()  # type: ignore[arg-type]

    return ask


@contextmanager
def snapshot(server: Server) -> Iterator[tuple[str, Ask]]:
    """The name of a moment that others may share while this lasts, and a way to ask about it."""
    with closing(server.connect(autocommit=False)) as connection:
        connection.isolation_level = psycopg.IsolationLevel.REPEATABLE_READ
        connection.read_only = True
        name = connection.execute("SELECT pg_export_snapshot()").fetchone()
        yield str(name[0] if name else ""), ask_of(connection)
        connection.rollback()


def version_of(server: Server) -> int:
    with closing(server.connect()) as connection:
        return connection.info.server_version // 10_000


def program(name: str, at_least: int) -> Path:
    """`pg_dump` or `pg_restore`, not older than the server. Raises Trouble that says what to install."""
    ending = ".exe" if sys.platform == "win32" else ""
    on_path = shutil.which(name)
    candidates = [*([Path(on_path)] if on_path else []), *(place / (name + ending) for place in cluster.binaries())]
    versions = {path: _version(path) for path in dict.fromkeys(candidates)}
    fitting = [path for path, version in versions.items() if version >= at_least]
    if fitting:
        return fitting[0]
    found = max(versions.values(), default=0)
    what = f"the {name} here is of version {found}, older than the server ({at_least})" if found else f"{name} was not found"
    raise Trouble(
        f"PostgreSQL can't be copied: {what}. Install PostgreSQL's client programs of version {at_least} or newer here "
        f"(on Debian: sudo apt-get install postgresql-client-{at_least}), then try again."
    )


def _version(path: Path) -> int:
    """The major version; 0 for what doesn't answer."""
    try:
        said = subprocess.run([path, "--version"], capture_output=True, text=True, errors="replace", timeout=20).stdout
    except (OSError, subprocess.SubprocessError):
        return 0
    numbers = [word for word in said.replace(".", " ").split() if word.isdecimal()]
    return int(numbers[0]) if numbers and "PostgreSQL" in said else 0


def dump(server: Server, moment: str, target: Path, at_least: int) -> None:
    os.close(os.open(target, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    options = [
        "--format=custom",
        "--schema=public",
        "--no-owner",
        "--no-privileges",
        "--lock-wait-timeout=60s",
        f"--snapshot={moment}",
    ]
    _run([program("pg_dump", at_least), *options, f"--file={target}", f"--dbname={server.name}"], server, "dump")


def restore(server: Server, dumped: Path, at_least: int) -> None:
    """Into a database whose schema `public` is empty: all of it or nothing."""
    with contents(server, dumped, at_least) as listed:
        options = ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", f"--use-list={listed}"]
        _run([program("pg_restore", at_least), *options, f"--dbname={server.name}", dumped], server, "restoring")


@contextmanager
def contents(server: Server, dumped: Path, at_least: int) -> Iterator[Path]:
    """A file that names what of the dump is restored. Not beside the dump: that may lie on a stick that can't be written to."""
    with tempfile.TemporaryDirectory(prefix="shop-dump-") as folder:
        place = Path(folder) / "contents"
        place.write_text(_without_schema(server, dumped, at_least), encoding="utf-8")
        yield place


def _without_schema(server: Server, dumped: Path, at_least: int) -> str:
    """The dump's table of contents but for the schema itself, which every database has."""
    listed = _run([program("pg_restore", at_least), "--list", dumped], server, "reading the dump")
    return "\n".join(
        line for line in listed.splitlines() if " SCHEMA - public" not in line and "COMMENT - SCHEMA public" not in line
    )


def _run(command: list[Any], server: Server, what: str) -> str:
    done = subprocess.run(
        [str(word) for word in command], capture_output=True, text=True, errors="replace", env=server.surroundings()
    )
    if done.returncode:
        raise ended_early(what, done.stderr)
    return done.stdout


def ended_early(what: str, said: str) -> Trouble:
    words = " ".join(said.split())[-LAST_WORDS:]
    return Trouble(f"PostgreSQL's own tool ended the {what} early: {words}. See that the server runs, then try again.")


@contextmanager
def scratch_database(server: Server) -> Iterator[Server]:
    """An empty database beside the shop's, gone afterwards; where the account may make none, on a server of one's own."""
    name = SCRATCH + secrets.token_hex(6)
    try:
        _clear_scratch(server)
        _tell(server, sql.SQL("CREATE DATABASE {} TEMPLATE template0 ENCODING 'UTF8'").format(sql.Identifier(name)))
    except psycopg.errors.InsufficientPrivilege:
        with cluster.running_cluster() as own:
            yield Server("127.0.0.1", str(own.port), cluster.OWNER, "", cluster.OWNER)
        return
    try:
        yield server.of(name)
    finally:
        _drop(server, name)


def _tell(server: Server, statement: sql.Composed) -> None:
    with closing(server.connect()) as connection:
        connection.execute(statement)


def _drop(server: Server, name: str) -> None:
    _tell(server, sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name)))


def _clear_scratch(server: Server) -> None:
    """Scratch databases of a proof that was killed: nobody is in them."""
    with closing(server.connect()) as connection:
        asked = (
            "SELECT datname FROM pg_database d WHERE datname LIKE %s AND pg_has_role(datdba, 'MEMBER') "
            "AND NOT EXISTS (SELECT 1 FROM pg_stat_activity a WHERE a.datname = d.datname)"
        )
        names = [row[0] for row in connection.execute(asked, [SCRATCH.replace("_", r"\_") + "%"])]
    for name in names:
        _drop(server, name)
