"""How many distinct notations are read in a second, by the short cut and by the grammar alone, and beside pint.

    .venv/bin/python -m tests.speed.notation

Every string differs from every other, so nothing is won by remembering whole strings. Target: 50,000 a second.
"""

import random
from collections.abc import Callable, Iterable

from inventory.components.notation import NotationError, read_by_grammar, read_notation
from inventory.components.quantities import registry
from tests.speed.timing import best_of

STRINGS = 30_000
TARGET = 50_000
SEED = 20_000
Dice = random.Random


def _figures(dice: Dice) -> str:
    """A value as old and new sheets give it, two to four figures."""
    return str(dice.choice((dice.randint(1, 9999), round(dice.uniform(1, 999), 2), round(dice.uniform(1, 99), 1))))


# What the trade writes, in about the shares a drawer list or a called-for list has. With each the kind that a form knows.
FORMS: tuple[tuple[str, Callable[[Dice], str]], ...] = (
    ("capacitance", lambda dice: f"0.{dice.randint(1, 99999):05d} MFD {dice.choice((200, 400, 600))} V"),
    ("resistance", lambda dice: f"{dice.randint(1, 999)}K{dice.randint(0, 99)}"),
    ("resistance", lambda dice: f"{_figures(dice)}K 1/2W 10%"),
    ("capacitance", lambda dice: f"{_figures(dice)}n 630V X2"),
    ("capacitance", lambda dice: f"{_figures(dice)} mmfd"),
    ("capacitance", lambda dice: f"{dice.randint(4, 99)}-{dice.randint(4, 99)} µF @ {dice.choice((150, 200, 350, 450))}V"),
    ("capacitance", lambda dice: f"{dice.randint(4, 99)}+{dice.randint(4, 99)}/{dice.choice((250, 350, 450))}"),
    ("capacitance", lambda dice: f".0{dice.randint(1, 9999):04d}"),
    ("resistance", lambda dice: f"{dice.randint(1, 999)},{dice.randint(1, 99)} kΩ"),
    ("resistance", lambda dice: f"{_figures(dice)} Meg"),
    ("resistance", lambda dice: f"{dice.randint(10, 9999)} Ω {dice.choice((1, 2, 5, 10))} W"),
    ("resistance", lambda dice: f"{dice.randint(1, 99)}M{dice.randint(1, 99)}"),
    ("inductance", lambda dice: f"{_figures(dice)} µH"),
    ("frequency", lambda dice: f"{_figures(dice)} kc"),
    ("capacitance", lambda dice: f"{dice.randint(1, 99)}n{dice.randint(0, 99)}{dice.choice('JKM')}"),
    ("voltage", lambda dice: f"{_figures(dice)} V"),
    ("resistance", lambda dice: f"{dice.randint(1, 99)},{dice.randint(0, 999):03d} ohms"),
)


def mixed(count: int, seed: int = SEED) -> list[tuple[str, str | None]]:
    """`count` distinct notations with their kinds, in random order, the same ones for the same seed."""
    dice = random.Random(seed)
    found: dict[str, str | None] = {}
    while len(found) < count:
        kind, form = dice.choice(FORMS)
        found[form(dice)] = kind
    return list(found.items())


def per_second(texts: Iterable[tuple[str, str | None]], read: Callable[[str, str | None], object] = read_notation) -> float:
    """Strings that `read` reads in a second; a refusal counts as read."""
    asked = list(texts)

    def work() -> None:
        for text, kind in asked:
            try:
                read(text, kind)
            except NotationError:
                continue

    work()
    return len(asked) / best_of(work, 3)


def _pint_per_second(count: int) -> float:
    """The same with pint, on what it can read at all."""
    dice, units = random.Random(SEED), registry()
    texts = [
        (f"{round(dice.uniform(1, 9999), 3)} {dice.choice(('µF', 'pF', 'kohm', 'Mohm', 'mH', 'V'))}", None) for _ in range(count)
    ]
    return per_second(texts, lambda text, _: units.Quantity(text))


def main() -> None:
    """Prints strings a second and the ratios."""
    pairs = mixed(STRINGS)
    alone = per_second((text, None) for text, _ in pairs)
    known = per_second(pairs)
    grammar = per_second(pairs[:5000], read_by_grammar)
    beside = _pint_per_second(2000)
    print(f"  notation, kind not given: {alone:,.0f} distinct strings a second, {alone / TARGET:.2f} of the target")
    print(f"  notation, kind given:     {known:,.0f} distinct strings a second, {known / TARGET:.2f} of the target")
    print(f"  the grammar alone:        {grammar:,.0f}; the short cut is {known / grammar:.1f} times as fast")
    print(f"  pint on what it can read: {beside:,.0f}; reading notation is {known / beside:.1f} times as fast")


if __name__ == "__main__":
    main()
