"""Putting a dump in the place of a PostgreSQL database's tables, in one transaction: whatever is killed, it is in or it isn't.

The database's own client reads what we say, and is told to commit only once the whole dump went through it. While it works it
holds a lock, and the tables that it brings bear a mark: so whoever comes after a kill waits for the client's end, then knows.
(https://www.postgresql.org/docs/current/explicit-locking.html, advisory locks; app-psql.html, ON_ERROR_STOP.)
"""

import shutil
import subprocess
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from shop.backup.postgresql import Server, contents, ended_early, program
from shop.backup.troubles import Trouble

# Any number will do, as long as it stays the same.
LOCK = 1_948_337_201
MARKED_TABLE = "public.shop_profile"
NOT_ALLOWED = "42501"
MAY_NOT = (
    "The account of DATABASE_URL may not move the tables that are there aside. Give DATABASE_URL an empty database, "
    "then restore again. Nothing was changed."
)


@dataclass(frozen=True, slots=True)
class Place:
    """`old`: the schema that the tables that are there become, empty where there are none; `mark`: what the new ones bear."""

    server: Server
    old: str
    mark: str


def put_in(place: Place, dumped: Path, at_least: int, written_down: Callable[[], None]) -> None:
    """`written_down` is called once all is in and before it counts. Raises Trouble; then nothing was changed."""
    options = ["--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--set=VERBOSITY=verbose", "--file=-"]
    command = [str(program("psql", at_least)), *options, f"--dbname={place.server.name}"]
    with tempfile.TemporaryFile() as errors:
        client = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=errors, env=place.server.surroundings()
        )
        try:
            _tell(client, f"BEGIN; SELECT pg_advisory_xact_lock({LOCK});", *_aside(place.old))
            _heard(client, "ready", errors)
            _fill(client, place.server, dumped, at_least, errors)
            _tell(client, f"COMMENT ON TABLE {MARKED_TABLE} IS '{place.mark}';")
            _heard(client, "filled", errors)
            written_down()
            _tell(client, "COMMIT;")
            _end(client, errors)
        finally:
            client.kill()
            client.wait()


def _aside(old: str) -> list[str]:
    return [f'ALTER SCHEMA public RENAME TO "{old}";', "CREATE SCHEMA public;"] if old else []


def _fill(client: "subprocess.Popen[bytes]", server: Server, dumped: Path, at_least: int, errors: IO[bytes]) -> None:
    with contents(server, dumped, at_least) as listed, tempfile.TemporaryFile() as said:
        options = ["--no-owner", "--no-privileges", f"--use-list={listed}", "--file=-", dumped]
        command = [str(word) for word in (program("pg_restore", at_least), *options)]
        reader = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=said, env=server.surroundings())
        try:
            shutil.copyfileobj(_open(reader.stdout), _open(client.stdin))
        except BrokenPipeError as error:
            raise _trouble(client, errors) from error
        finally:
            _open(reader.stdout).close()
            code = reader.wait()
        if code:
            said.seek(0)
            raise ended_early("reading of the dump", said.read().decode(errors="replace"))


def _tell(client: "subprocess.Popen[bytes]", *lines: str) -> None:
    """A client that died already is heard of where its answer is waited for."""
    pipe = _open(client.stdin)
    try:
        pipe.write("".join(f"{line}\n" for line in lines).encode())
        pipe.flush()
    except BrokenPipeError:
        return


def _heard(client: "subprocess.Popen[bytes]", word: str, errors: IO[bytes]) -> None:
    """Waits until all that was told is done."""
    _tell(client, f"\\echo {word}")
    for line in _open(client.stdout):
        if line.strip() == word.encode():
            return
    raise _trouble(client, errors)


def _end(client: "subprocess.Popen[bytes]", errors: IO[bytes]) -> None:
    _open(client.stdin).close()
    if client.wait():
        raise _trouble(client, errors)


def _trouble(client: "subprocess.Popen[bytes]", errors: IO[bytes]) -> Trouble:
    client.wait()
    errors.seek(0)
    said = errors.read().decode(errors="replace")
    return Trouble(MAY_NOT) if f"{NOT_ALLOWED}:" in said else ended_early("restoring", said)


def _open(pipe: IO[bytes] | None) -> IO[bytes]:
    assert pipe is not None
    return pipe


def is_in(server: Server, mark: str) -> bool:
    """Whether the tables that are there came with that mark; waits for a client that is still at it."""
    with closing(server.connect()) as connection:
        connection.execute("SELECT pg_advisory_lock(%s)", [LOCK])
        asked = "SELECT obj_description(to_regclass(%s), 'pg_class')"
        row: Any = connection.execute(asked, [MARKED_TABLE]).fetchone()
    return bool(row and row[0] == mark)


def take_mark_off(server: Server) -> None:
    with closing(server.connect()) as connection:
        connection.execute(f"COMMENT ON TABLE {MARKED_TABLE} IS NULL")  # type: ignore[arg-type]


def has_tables(server: Server) -> bool:
    with closing(server.connect()) as connection:
        return connection.execute("SELECT 1 FROM pg_tables WHERE schemaname = 'public' LIMIT 1").fetchone() is not None
