"""From the output of an installer to words that help."""

from shop.setup.console import Problem

# (what the output says, what happened, what to do); the first that fits is told.
KNOWN: tuple[tuple[str, str, str], ...] = (
    ("no space left", "The disk is full.", "Free about 500 MB and start again; what was begun is finished then."),
    ("disk quota", "The disk quota is used up.", "Free about 500 MB and start again; what was begun is finished then."),
    ("read-only file system", "This folder can't be written to.", "Copy the project to a folder of your own and start it there."),
    (
        "permission denied",
        "This folder can't be written to.",
        "Start it as its owner, or copy the project to a folder of your own.",
    ),
    (
        "do not match the hashes",
        "A downloaded package is not the one that was pinned; it was not installed.",
        "Start again. If it happens again, something between here and the package index changes files: don't go on.",
    ),
    (
        "certificate verify failed",
        "The package index's certificate can't be checked.",
        "Check this machine's clock, and on a company network point PIP_CERT at its certificate file.",
    ),
    *(
        (sign, "The package index can't be reached.", "Check the network (behind a proxy, set HTTPS_PROXY) and start again.")
        for sign in (
            "name resolution",
            "nodename nor servname",
            "getaddrinfo failed",
            "connection refused",
            "network is unreachable",
            "newconnectionerror",
            "proxyerror",
            "timed out",
            "connection reset",
            "connection broken",
        )
    ),
    (
        "no matching distribution",
        "The package index has no ready-made package for this Python and machine.",
        "Use Python 3.11, 3.12 or 3.13 from python.org or from your system, and start again.",
    ),
)


def explain(output: str, doing: str) -> Problem:
    """`doing` names what failed, for example "Installing the packages"."""
    low = output.lower()
    for sign, happened, do in KNOWN:
        if sign in low:
            return Problem(f"{doing} failed. {happened}", f"{do}{_detail(output, sign)}")
    return Problem(f"{doing} failed. Its last words:", _last_lines(output))


def _detail(output: str, sign: str) -> str:
    line = next(line.strip() for line in reversed(output.splitlines()) if sign in line.lower())
    return f"\n  ({line[:300]})"


def _last_lines(output: str) -> str:
    return "\n".join(f"  {line}" for line in output.strip().splitlines()[-8:]) or "  (nothing)"
