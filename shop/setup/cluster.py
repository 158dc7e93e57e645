"""A PostgreSQL server of one's own for as long as a `with` lasts: on loopback, on a free port, gone afterwards.

`with scratch_cluster() as url:` gives what DATABASE_URL takes.
"""

import atexit
import glob
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from shop.setup.console import Problem

OWNER = "shop"
PORT_TRIES = 5
USUAL_PLACES = (
    "/usr/lib/postgresql/*/bin",
    "/usr/pgsql-*/bin",
    "/opt/homebrew/opt/postgresql*/bin",
    "/usr/local/opt/postgresql*/bin",
    "C:/Program Files/PostgreSQL/*/bin",
)
CONFIGURATION = """
listen_addresses = '127.0.0.1'
unix_socket_directories = ''
max_connections = 60
timezone = 'UTC'
"""
# A scratch server may lose everything in a power cut, so it needn't wait for the disk; nor compile what is asked of few rows.
FORGETFUL = """
fsync = off
synchronous_commit = off
full_page_writes = off
jit = off
"""


@dataclass(frozen=True)
class Cluster:
    """A running server. `start` brings it up again on the port that it had, should it have died."""

    place: Path
    folder: Path
    port: int

    @property
    def url(self) -> str:
        return f"postgres://{OWNER}@127.0.0.1:{self.port}/{OWNER}"

    def start(self) -> None:
        _start_server(self.place, self.folder, self.port)

    def run(self, program: str, *options: Any) -> None:
        """One of the server's own programs, as the server's account. Raises Problem with what it said."""
        _run([self.place / program, *options], self.folder)

    def empty_folder(self) -> Path:
        """A new folder that the server's account may write to; whoever asks takes it away."""
        folder = Path(tempfile.mkdtemp(prefix="shop-postgresql-"))
        _hand_to_server_user(folder)
        return folder

    def stop(self) -> None:
        _stop(self.place, self.folder)


def _version_in(path: str) -> list[int]:
    return [int(part) for part in "".join(c if c.isdigit() else " " for c in path).split()]


def binaries() -> list[Path]:
    """Folders whose server programs answer: named by `pg_config`, on PATH, in the usual places (newest first)."""
    named = _answer(["pg_config", "--bindir"])
    on_path = shutil.which("initdb")
    usual = sorted((place for pattern in USUAL_PLACES for place in glob.glob(pattern)), key=_version_in, reverse=True)
    candidates = [named, os.path.dirname(os.path.realpath(on_path)) if on_path else "", *usual]
    return [Path(place) for place in dict.fromkeys(candidates) if place and _is_whole(Path(place))]


def _is_whole(place: Path) -> bool:
    """A client-only package has a bin folder too, and something of the same name on PATH may be no server program at all."""
    return all("PostgreSQL" in _answer([str(place / name), "--version"]) for name in ("initdb", "pg_ctl", "postgres"))


def _answer(command: list[str]) -> str:
    try:
        done = subprocess.run(command, capture_output=True, text=True, errors="replace", timeout=20)
    except (OSError, subprocess.SubprocessError):
        return ""
    return done.stdout.strip() if done.returncode == 0 else ""


@contextmanager
def scratch_cluster() -> Iterator[str]:
    """Gives a DATABASE_URL with an empty database. Raises Problem when there is no server or it won't start."""
    with running_cluster() as cluster:
        yield cluster.url


@contextmanager
def running_cluster(*, durable: bool = False) -> Iterator[Cluster]:
    """A server with an empty database; a `durable` one waits for the disk as a shop's own would. Raises Problem as above."""
    places = binaries()
    if not places:
        raise Problem("PostgreSQL's server programs (initdb, pg_ctl, postgres) were not found.", "Install PostgreSQL's server.")
    folder = Path(tempfile.mkdtemp(prefix="shop-postgresql-"))
    remove = partial(_remove, places[0], folder)
    atexit.register(remove)
    try:
        _hand_to_server_user(folder)
        yield _first_that_works(places, folder, CONFIGURATION if durable else CONFIGURATION + FORGETFUL)
    finally:
        remove()
        atexit.unregister(remove)


def _first_that_works(places: list[Path], folder: Path, configuration: str) -> Cluster:
    troubles = []
    for place in places:
        try:
            return Cluster(place, folder, _start(place, folder, configuration))
        except Problem as problem:
            troubles.append(str(problem))
            _stop(place, folder)
            shutil.rmtree(folder / "data", ignore_errors=True)
    raise Problem("PostgreSQL is here but doesn't start:", "\n".join(troubles))


def _start(place: Path, folder: Path, configuration: str) -> int:
    """The port of a running server with one empty database."""
    data = folder / "data"
    _run([place / "initdb", "-D", data, "-A", "trust", "-U", OWNER, "-E", "UTF8", "--locale=C", "--no-sync"], folder)
    with (data / "postgresql.conf").open("a") as file:
        file.write(configuration)
    port = _started_on(place, folder)
    _run([place / "createdb", "-h", "127.0.0.1", "-p", str(port), "-U", OWNER, OWNER], folder)
    return port


def _started_on(place: Path, folder: Path, tries: int = PORT_TRIES) -> int:
    """Between finding a port free and using it somebody else may take it, so a few are tried."""
    port = _free_port()
    try:
        _start_server(place, folder, port)
    except Problem:
        if tries == 1:
            raise
        return _started_on(place, folder, tries - 1)
    return port


def _start_server(place: Path, folder: Path, port: int) -> None:
    options = ["-D", folder / "data", "-l", folder / "server.log", "-o", f"-p {port}", "-w", "-t", "60"]
    _run([place / "pg_ctl", *options, "start"], folder)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _run(command: list[Any], folder: Path) -> None:
    """Output goes to a file: the server inherits it, and a pipe would stay open as long as the server runs."""
    with (folder / "output.log").open("w+") as output:
        done = subprocess.run(
            [str(word) for word in command],
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            cwd=folder,
            **_as_user(),
        )
        output.seek(0)
        if done.returncode:
            raise Problem(f"{Path(command[0]).name} failed:", output.read()[-1500:] + _server_log(folder))


def _server_log(folder: Path) -> str:
    log = folder / "server.log"
    return log.read_text(errors="replace")[-1500:] if log.exists() else ""


def _stop(place: Path, folder: Path) -> None:
    if (folder / "data" / "postmaster.pid").exists():
        command = [str(place / "pg_ctl"), "-D", str(folder / "data"), "-m", "immediate", "-w", "stop"]
        subprocess.run(command, capture_output=True, cwd=folder, **_as_user())


def _remove(place: Path, folder: Path) -> None:
    if folder.exists():
        _stop(place, folder)
        shutil.rmtree(folder, ignore_errors=True)


if sys.platform == "win32":

    def _as_user() -> dict[str, Any]:
        return {}

    def _hand_to_server_user(folder: Path) -> None:
        return

else:
    import pwd

    def _server_user() -> pwd.struct_passwd | None:
        """The server refuses to run as root; so root borrows an account that may do nothing else."""
        if os.geteuid() != 0:
            return None
        known = {entry.pw_name: entry for entry in pwd.getpwall()}
        found = known.get("postgres") or known.get("nobody")
        if found is None:
            raise Problem("PostgreSQL refuses to run as root, and no other account is here.", "Start this as an ordinary user.")
        return found

    def _as_user() -> dict[str, Any]:
        user = _server_user()
        if user is None:
            return {}
        return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": [], "env": {**os.environ, "HOME": "/"}}

    def _hand_to_server_user(folder: Path) -> None:
        user = _server_user()
        if user is not None:
            os.chown(folder, user.pw_uid, user.pw_gid)
