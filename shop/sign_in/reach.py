"""From where the shop can be reached, and what follows from it. `SHOP_REACH` says it: `machine`, `network` or `internet`.

    machine    this computer only (the usual)
    network    the shop's own network, over plain HTTP
    internet   anybody; behind a proxy that speaks TLS

What a reach does without is written in `EXCEPTIONS`, with the reason, and is said when serving starts.
"""

from dataclasses import dataclass
from datetime import timedelta

from shop import environment as env
from shop.environment import BadEnvironment

MACHINE, NETWORK, INTERNET = "machine", "network", "internet"
HERE = ["localhost", "127.0.0.1", "[::1]"]
# Idle minutes and longest hours of being signed in. A bench is left for an afternoon; a browser on the internet isn't.
USUAL_LIMITS = {MACHINE: (12 * 60, 7 * 24), NETWORK: (12 * 60, 7 * 24), INTERNET: (30, 12)}

EXCEPTIONS: dict[str, tuple[str, ...]] = {
    MACHINE: (),
    NETWORK: (
        "It speaks plain HTTP: whoever can listen on this network reads what is sent, passwords too. "
        "Keep guests and strange devices on a network of their own.",
        "Cookies go over plain HTTP as well, as otherwise nobody could sign in.",
        "It answers to every host name, as this machine's name in the network isn't known here; SHOP_HOSTS narrows it.",
    ),
    INTERNET: (),
}


@dataclass(frozen=True, slots=True)
class Reach:
    """`hosts` and `origins` as the framework takes them; `proxies` stand before the server and are believed."""

    name: str
    hosts: list[str]
    origins: list[str]
    is_https: bool
    proxies: int
    idle: timedelta
    longest: timedelta

    @property
    def owners_need_a_second_factor(self) -> bool:
        return self.name == INTERNET

    @property
    def exceptions(self) -> tuple[str, ...]:
        """None of them holds once the network's shop is behind TLS and names its hosts."""
        if self.is_https:
            return ()
        return tuple(one for one in EXCEPTIONS[self.name] if "SHOP_HOSTS" not in one or "*" in self.hosts)


def read_reach() -> Reach:
    """From the environment. What is missing or can't be is refused by name."""
    name = env.text("SHOP_REACH") or MACHINE
    if name not in USUAL_LIMITS:
        raise BadEnvironment(f"Unexpected value SHOP_REACH={name}, use '{MACHINE}', '{NETWORK}' or '{INTERNET}'.")
    hosts, origins = env.names("SHOP_HOSTS", []), env.names("SHOP_ORIGINS", [])
    is_https = env.flag("SHOP_HTTPS", name == INTERNET)
    if name == INTERNET:
        _refuse_gaps(hosts, origins, is_https)
    idle, longest = USUAL_LIMITS[name]
    return Reach(
        name=name,
        hosts=hosts or (HERE if name == MACHINE else ["*"]),
        origins=origins,
        is_https=is_https,
        proxies=env.number("SHOP_PROXIES", 0, 0, 5),
        idle=timedelta(minutes=env.number("SHOP_IDLE_MINUTES", idle, 5, 24 * 60)),
        longest=timedelta(hours=env.number("SHOP_LONGEST_HOURS", longest, 1, 30 * 24)),
    )


def _refuse_gaps(hosts: list[str], origins: list[str], is_https: bool) -> None:
    wrong = []
    if not hosts or any("*" in one for one in hosts):
        wrong.append("SHOP_HOSTS with the names it is reached under, such as radios.example (no star)")
    if not origins or not all(one.startswith("https://") and "*" not in one for one in origins):
        wrong.append("SHOP_ORIGINS with their https addresses, such as https://radios.example")
    if not is_https:
        wrong.append("SHOP_HTTPS left unset or True")
    if wrong:
        raise BadEnvironment(f"SHOP_REACH=internet needs {'; '.join(wrong)}.")
