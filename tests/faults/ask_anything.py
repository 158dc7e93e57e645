"""Puts strings of every kind into every field of everything that can be asked, and looks for what a door must never do.

    .venv/bin/python -m tests.faults.ask_anything --strings 100000

An exception that escapes, an answer that is neither a result nor a refusal with a message, an answer that takes longer than
10 ms twice in a row, memory that keeps growing: each is a fault, and any fault makes the exit code 1.
"""

import argparse
import json
import os
import random
import resource
import string
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

LONGEST_SECONDS = 0.010
MEMORY_SLACK_MB = 24

# What the trade writes, to be torn and mixed: pure noise alone never gets past the first check.
SEEDS = (
    "0.05 MFD 600 V", ".05mf", "50 MMF", "4K7", "2M2", "R47", "n47", "1,5 kΩ", "470K 1/2W 10%", "30-30 µF @ 200V", "40+20/450",
    "22n 630V X2", "5 Meg", "1/4 meg", "0.00025", "103", "104M", "open", "OL", "leaky 2 M", "ESR 2.5 Ω", "0.3 mA", "7.5 V",
    "tester 72 of 60", "5Y3-GT", "EZ80", "6V6", "reservoir", "coupling", "line_to_chassis", "valve", "line cord", "red", "violet",
    "GD", "none", "iec60062", "body_end_dot", "mica_6_dot", "E12", "E192", "half-wave", "full-wave", "linear", "GBP", "JPY", "S",
    "12.50", "-1", "1e400", "9**9**9", "0x10", "NaN", "Infinity", "us_hot_check", "transformerless",
)  # fmt: skip
PIECES = (
    *string.ascii_letters,
    *string.digits,
    *"0123456789.,+-/±%~()@:=&*^_ \t",
    *"µμΩω½¼×−²³¹٣७零𝟘\u00a0\u2028\u202e\ufeff\x00\x1b😀",
)
NUMBERS: tuple[Any, ...] = (
    0, -1, 1, 50, 60, 0.07, 1e-12, 1e-300, 1e6, 1e300, -0.0, 10**30, 10**400, 4700, 250, 16, 130, 0.00035, True, None, [], {}, "7"
)  # fmt: skip


def strings(count: int, seed: int) -> Iterator[str]:
    """Torn, joined, repeated and swapped notations, and noise; the same ones for the same seed."""
    dice = random.Random(seed)
    for _ in range(count):
        text = dice.choice(SEEDS) if dice.random() < 0.7 else ""
        for _ in range(dice.randrange(4)):
            text = _spoilt(text, dice)
        yield text


def _spoilt(text: str, dice: random.Random) -> str:
    at = dice.randint(0, len(text))
    match dice.randrange(6):
        case 0:
            return text[:at] + dice.choice(PIECES) + text[at:]
        case 1:
            return text[:at] + text[at + 1 :]
        case 2:
            return text + dice.choice(("", " ", "/", "+", "-")) + dice.choice(SEEDS)
        case 3:
            return (text or dice.choice(PIECES)) * dice.choice((2, 3, 50))
        case 4:
            return "".join(dice.choice(PIECES) for _ in range(dice.randrange(1, 90)))
        case _:
            return text[:at] + str(dice.choice(NUMBERS)) + text[at:]


def questions(text: str, dice: random.Random) -> Iterator[dict[str, Any]]:
    """One question of every name with the string, or an odd number, somewhere in it."""

    def odd(usual: Any, chance: float = 0.5) -> Any:
        return dice.choice((text, dice.choice(NUMBERS))) if dice.random() < chance else usual

    kinds = (None, "resistance", "capacitance", "inductance", "voltage", "power", "current", "frequency", text)
    yield {"do": "read_notation", "text": text, "kind": dice.choice(kinds)}
    colours = [odd(dice.choice(("red", "black", "gold", "none", "violet")), 0.2) for _ in range(dice.randrange(8))]
    yield {
        "do": "read_colours",
        "scheme": dice.choice(("iec60062", "body_end_dot", "mica_3_dot", "mica_6_dot", text)),
        "colours": colours,
    }
    yield {"do": "preferred", "series": odd("E24", 0.3), "value": odd(4700, 0.8)}
    yield {
        "do": "judge",
        "called": odd("470K 10%"),
        "measured": odd("520k"),
        "tolerance_percent": odd(None, 0.3),
        "practice": odd(None, 0.3),
    }
    yield {
        "do": "substitute",
        "role": odd(dice.choice(("coupling", "reservoir", "line_to_chassis", "valve", "dropper", "smoothing")), 0.3),
        "called": odd("20 µF 450 V"),
        "candidate": odd("47 µF 450 V"),
        "rectifier": odd(None, 0.3),
        "volts_working": odd(None, 0.3),
        "watts_dissipated": odd(None, 0.3),
        "supply": odd(None, 0.2),
    }
    yield _supply(odd, dice)
    yield {"do": "leakage", dice.choice(("volts_rms", "amps", "cold_ohms")): odd(0.3, 0.7), "practice": odd(None, 0.4)}
    row = {
        "quantity": odd("1"),
        "unit_price": odd("4.20"),
        "discount_percent": odd("0", 0.2),
        "tax_category": odd("S", 0.2),
        "tax_percent": odd("20", 0.2),
    }
    yield {
        "do": "totals",
        "currency": odd("GBP", 0.2),
        "lines": [row, row],
        "charges": odd([], 0.2),
        "prepaid": odd("0", 0.2),
        "rounding": odd("line", 0.2),
    }
    yield {"do": text, "text": text}


def _supply(odd: Any, dice: random.Random) -> dict[str, Any]:
    law = dice.choice(
        ({"law": "linear", "ohms": odd(130, 0.3)}, {"law": "three_halves", "perveance": odd(0.00035, 0.3)}, odd("5Y3-GT"))
    )
    return {
        "do": "supply",
        "topology": odd(dice.choice(("half-wave", "full-wave")), 0.05),
        "volts_rms": odd(10 ** dice.uniform(0.5, 3), 0.1),
        "frequency_hz": odd(dice.choice((50, 60, 100, 400)), 0.1),
        "source_ohms": odd(10 ** dice.uniform(0, 3), 0.1),
        "rectifier": law,
        "reservoir_uf": odd(10 ** dice.uniform(-1, 4), 0.1),
        "choke_h": odd(dice.choice((0, 5, 10, 10 ** dice.uniform(-3, 3))), 0.1),
        "choke_ohms": odd(10 ** dice.uniform(0, 4), 0.1),
        "smoothing_uf": odd(10 ** dice.uniform(-1, 4), 0.1),
        dice.choice(("load_amps", "load_ohms")): odd(10 ** dice.uniform(-4, 1), 0.1),
    }


@dataclass
class Found:
    """What a run met. `slow` holds only answers that were slow twice: once may be another program's turn."""

    asked: int = 0
    refused: int = 0
    faults: list[str] = field(default_factory=list)
    slow: list[str] = field(default_factory=list)
    slowest: dict[str, float] = field(default_factory=dict)


def run(count: int, seed: int = 1, *, timed: bool = True) -> Found:
    dice, found = random.Random(seed), Found()
    for text in strings(count, seed):
        for question in questions(text, dice):
            _put(json.dumps({"id": found.asked, **question}).encode(), question["do"], found, timed)
    return found


def _put(line: bytes, name: str, found: Found, timed: bool) -> None:
    from shop.asking.door import UNEXPECTED, answer_line
    from shop.asking.verbs import VERBS

    found.asked += 1
    name = name if name in VERBS else "other"
    seconds, said = _answer(answer_line, line)
    if timed and seconds > LONGEST_SECONDS:
        again, _ = _answer(answer_line, line)
        seconds = min(seconds, again)
        if seconds > LONGEST_SECONDS:
            found.slow.append(f"{seconds * 1000:.1f} ms: {line.decode()[:300]}")
    found.slowest[name] = max(found.slowest.get(name, 0.0), seconds)
    fault = _fault(json.loads(said), UNEXPECTED)
    found.refused += b'"ok": false' in said
    if fault:
        found.faults.append(f"{fault}: {line.decode()[:400]}")


def _answer(answer_line: Any, line: bytes) -> tuple[float, bytes]:
    start = time.perf_counter()
    said = answer_line(line)
    return time.perf_counter() - start, said


def _fault(said: dict[str, Any], unexpected: str) -> str:
    """Why an answer is none; empty where it is one."""
    if said.get("ok") is True:
        return "" if isinstance(said.get("result"), dict) and said["result"] else "an empty result"
    error = said.get("error", {})
    if error.get("message") == unexpected:
        return "an exception escaped"
    if error.get("code") not in ("unreadable", "ambiguous", "too_long", "out_of_range", "unknown"):
        return "a refusal without a code"
    if len(error.get("message", "")) < 15:
        return "a refusal that doesn't say what would be accepted"
    return "an ambiguous answer without readings" if error["code"] == "ambiguous" and not error.get("readings") else ""


def _megabytes() -> float:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--strings", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    run(max(200, options.strings // 20), options.seed + 1)  # warms up every table before memory is looked at
    before = _megabytes()
    found = run(options.strings, options.seed)
    grown = _megabytes() - before
    slowest = ", ".join(f"{name} {seconds * 1000:.1f}" for name, seconds in sorted(found.slowest.items()))
    print(f"{options.strings} strings, {found.asked} questions: {found.asked - found.refused} answered, {found.refused} refused")
    print(f"slowest in ms: {slowest}")
    print(f"memory grew by {grown:.1f} MB; {len(found.faults)} faults, {len(found.slow)} answers slow twice in a row")
    for text in [*found.faults, *found.slow][:20]:
        print("   ", text)
    return 1 if found.faults or found.slow or grown > MEMORY_SLACK_MB else 0


if __name__ == "__main__":
    sys.exit(main())
