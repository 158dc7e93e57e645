"""The frame of runs that spoil every word of a shop with one of everything, and look at all that it then shows."""

import argparse
import logging
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from tests.faults.ground import DATABASES, ground, say

if TYPE_CHECKING:
    from django.test import Client

MOST_TOLD = 30


class HasFaults(Protocol):
    faults: list[str]


Told = TypeVar("Told", bound=HasFaults)
Run = Callable[[Any, "Client"], Told]


def main_of(doc: str | None, words: list[str], run: Run[Told], line_of: Callable[[Told], str]) -> int:
    """The command of such a run: on a database of its own, by whoever may see all; 1 where a fault was found."""
    asked = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--database", choices=DATABASES, default="sqlite")
    options = asked.parse_args(words)
    from tests.faults.bad_inputs import a_standing_shop, signed_in

    with ground(options.database), a_standing_shop() as shop:
        logging.disable(logging.CRITICAL)
        told = run(shop, signed_in(shop)[0])
        say(f"{options.database}: {line_of(told)}")
        say("\n".join(told.faults[:MOST_TOLD]))
    return 1 if told.faults else 0
