"""Serving the shop on this machine or its network: a free port, a printed address, waitress."""

import errno
import socket
import sys
from argparse import ArgumentParser
from collections.abc import Callable

from django.conf import settings
from django.core.management import CommandError
from django.db import connections
from waitress.server import create_server  # type: ignore[import-untyped]

from shop.database import how_it_is_kept
from shop.management import processes, reaching

HOST, PORT = "127.0.0.1", 8017
PORTS_TRIED = 20
THREADS = 8
EVERYWHERE = ("0.0.0.0", "::", "")
Say = Callable[[str], None]


def add_options(parser: ArgumentParser) -> None:
    where = "where to listen; with SHOP_REACH=network 0.0.0.0 is the whole network (default: %(default)s)"
    parser.add_argument("--host", default=HOST, help=where)
    parser.add_argument(
        "--port",
        type=int,
        default=PORT,
        help="port; the next free one when it is taken (default: %(default)s)",
    )

    parser.add_argument(
        "--processes",
        type=int,
        default=1,
        choices=range(1, processes.MOST + 1),
        metavar="N",
        help=f"answer in so many processes, {processes.MOST} at most, for many benches at once; best on PostgreSQL (default: 1)",
    )


def listen(host: str, port: int, say: Say) -> socket.socket:
    """A socket bound to the first free port from `port` upwards. Says so when that isn't the one asked for."""
    reaching.refuse_beyond(host)
    if not 1 <= port <= 65535:
        raise CommandError(f"{port} isn't a port. Use a number from 1 to 65535.")
    for tried in range(port, min(port + PORTS_TRIED, 65536)):
        bound = _bind(host, tried)
        if bound is not None:
            if tried != port:
                say(f"Port {port} is taken, so {tried} is used.")
            return bound
    raise CommandError(f"No port from {port} to {port + PORTS_TRIED - 1} is free. Choose another with --port.")


def _bind(host: str, port: int) -> socket.socket | None:
    """The bound socket, or None where the port is taken. On Windows two programs could share a port unless that is ruled out."""
    found = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)
    found.setsockopt(socket.SOL_SOCKET, exclusive if exclusive is not None else socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
        if exclusive is None:
            found.listen()
    except OSError as error:
        found.close()
        if isinstance(error, socket.gaierror) or not _is_taken(error):
            raise CommandError(
                f"Can't listen on {host}:{port} ({error.strerror or error}). Choose another --host or --port."
            ) from error
        return None
    return found


def _is_taken(error: OSError) -> bool:
    return error.errno in (errno.EADDRINUSE, getattr(errno, "WSAEADDRINUSE", errno.EADDRINUSE), errno.EACCES)


def address_of(bound: socket.socket) -> str:
    host, port = bound.getsockname()[:2]
    shown = "localhost" if host in EVERYWHERE else f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/"


def serve(bound: socket.socket, say: Say, count: int = 1) -> None:
    """Answer requests until it is stopped with Ctrl+C; with `count`, in so many processes."""
    from shop.backup import in_use
    from shop.backup.troubles import Trouble

    try:
        with in_use.serving():
            _serve(bound, say, count)
    except Trouble as trouble:
        bound.close()
        raise CommandError(trouble.message) from trouble
    except processes.NoneStays as gone:
        raise CommandError("The processes end as soon as they are started. Serve with one to see why: --processes 1.") from gone


def _serve(bound: socket.socket, say: Say, count: int) -> None:
    say(f"Kept in: {how_it_is_kept(settings.DATABASES['default'])}")
    say(f"Open {address_of(bound)} in a browser. Stop with Ctrl+C.")
    host = bound.getsockname()[0]
    if host in EVERYWHERE:
        say("Every machine of this network reaches it under this machine's name or address.")
    for line in reaching.said(host):
        say(line)
    if count > 1:
        say(f"{count} processes answer.")
    sys.stdout.flush()
    try:
        if count > 1:
            connections.close_all()
            processes.watch(bound, count, say)
        else:
            answer(bound)
    finally:
        bound.close()
        say("Stopped.")


def answer(bound: socket.socket) -> None:
    """In this process, until it is interrupted."""
    from shop import long_work
    from shop.backup import keeper
    from shop.works import daily_round
    from shop.wsgi import application

    reaching.keep_to_owner()
    trusted = reaching.trusted(bound.getsockname()[0])
    server = create_server(application, sockets=[bound], threads=THREADS, ident=None, **trusted)
    try:
        server.run()
    finally:
        server.close()
        long_work.close_down()
        keeper.close_down()
        daily_round.close_down()
