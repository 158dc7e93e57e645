"""Serving no farther than the shop's reach (`shop.sign_in.reach`): where to listen, whom to believe, what to say."""

import os
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import CommandError

from shop.sign_in.key_file import HAS_RIGHTS, OTHERS
from shop.sign_in.reach import INTERNET, MACHINE

FORWARDED = {"x-forwarded-for", "x-forwarded-proto"}


def is_this_machine(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def refuse_beyond(host: str) -> None:
    """Before a port is opened."""
    reach = settings.REACH
    if reach.name == MACHINE and not is_this_machine(host):
        raise CommandError(
            f"Listening on {host} would let others in, and this shop is for this machine only. Set SHOP_REACH=network for the "
            "shop's own network, or SHOP_REACH=internet behind a proxy that speaks TLS."
        )
    if reach.name == INTERNET and not reach.proxies:
        raise CommandError(
            "Serving speaks plain HTTP, which is not for the internet. Put a proxy that speaks TLS before it, and set "
            "SHOP_PROXIES=1 (or how many stand one behind the other)."
        )


def trusted(host: str) -> dict[str, Any]:
    """For the server: whose word on the visitor's address and scheme is taken. Nobody's, unless SHOP_PROXIES says how many."""
    if not settings.REACH.proxies:
        return {"clear_untrusted_proxy_headers": True}
    near = host if is_this_machine(host) and host != "localhost" else "127.0.0.1" if host == "localhost" else "*"
    return {
        "trusted_proxy": near,
        "trusted_proxy_count": settings.REACH.proxies,
        "trusted_proxy_headers": FORWARDED,
        "clear_untrusted_proxy_headers": True,
    }


def said(host: str) -> list[str]:
    """What the reach does without, for whoever starts it."""
    lines = list(settings.REACH.exceptions)
    if trusted(host).get("trusted_proxy") == "*":
        lines.append("Whoever reaches this port is believed to be the proxy: let only the proxy reach it.")
    return lines


def keep_to_owner() -> None:
    """What is written while serving is for whoever runs the shop; books that others could read are shut to them."""
    if not HAS_RIGHTS:
        return
    os.umask(0o077)
    database = settings.DATABASES["default"]
    kept = [Path(settings.MEDIA_ROOT), Path(settings.WAITING_FOLDER)]
    if database["ENGINE"].endswith("sqlite3"):
        kept.append(Path(database["NAME"]))
    for path in kept:
        if path.exists() and path.stat().st_mode & OTHERS:
            path.chmod(path.stat().st_mode & 0o7700)
