"""The short cut gives exactly what the grammar gives, or leaves the string to the grammar."""

import random

import pytest

from inventory.components.common_shapes import read_common_shape
from inventory.components.notation import KINDS, NotationError, Spec, read_by_grammar
from tests.speed.notation import mixed

STRINGS = 6_000
UNITS = (
    "K", "k", "M", "Meg", "meg", "R", "Ω", "ω", "\N{OHM SIGN}", "ohm", "ohms", "kΩ", "Mω", "MΩ", "m", "mF", "uF", "µF",
    "μF", "MFD", "mfd", "mf", "MF", "MMF", "mmfd", "pF", "p", "n", "nF", "u", "F", "H", "mH", "µH", "hy", "V", "v", "VDC",
    "kV", "W", "watt", "mW", "A", "mA", "kc", "Mc", "cps", "Hz", "cm", "jar", "G", "N", "J", "nK", "KM", "pJ", "nZ", "KF",
    "MK", "uN", "X", "mils"
)  # fmt: skip
BESIDE = ["V", "v", "W", "w", "volts", "kV", "VDC", "%", "X", "mV", "V."]
CHARACTERS = "0123456789.,-+/%@ kKmMXYVW½\t~"


def _number(dice: random.Random) -> str:
    return dice.choice(
        (
            str(dice.randint(0, 10 ** dice.randint(1, 5))),
            f"{dice.randint(0, 999)}.{dice.randint(0, 9999)}",
            f".{dice.randint(0, 99999):0{dice.randint(1, 5)}d}",
            f"{dice.randint(0, 1200)},{dice.randint(0, 9999)}",
            f"{dice.randint(0, 120)}{dice.choice('.,')}{dice.choice(('000', '500', '050'))}",
            dice.choice(
                ("1/2", "1/4", "3/4", "2/4", "5/8", "1/3", "0", "00", "5", "1", "2", "3", "10", "47", "103", "470", "473")
            ),
            dice.choice(("", "1", "47", "100"))
            + dice.choice("RKMknpumGµr")
            + f"{dice.randint(0, 99)}"
            + dice.choice(("", "J", "F", "Z")),
        )
    )


def _value(dice: random.Random) -> str:
    text = _number(dice)
    while dice.random() < 0.2:
        text += dice.choice(("-", "+", "/", " - ")) + _number(dice)
    return text + (dice.choice(("", " ", "  ")) + dice.choice(UNITS) + dice.choice(("", "", ".")) if dice.random() < 0.8 else "")


def _rating(dice: random.Random) -> str:
    said = (
        f"{_number(dice)}{dice.choice(('', ' '))}{dice.choice(BESIDE)}",
        f"{dice.choice(('±', '+/-', '± '))}{_number(dice)}{dice.choice(('%', ' %', ''))}",
        dice.choice(("X2", "Y1", "x1", "X1/Y2", "y1/x2", "X5")),
        dice.choice(("10 %", "630V", "1/2W", "450 V", "@ 200V")),
        dice.choice(UNITS),
    )
    return dice.choice((" ", " ", "", " @ ", "  ")) + dice.choice(said)


def _notation(dice: random.Random) -> str:
    text = _value(dice) + "".join(_rating(dice) for _ in range(dice.choice((0, 0, 1, 1, 2, 3))))
    if dice.random() < 0.1:
        at = dice.randrange(len(text) + 1)
        text = text[:at] + dice.choice(CHARACTERS) + text[at:]
    return text


def _by_grammar(text: str, kind: str | None, old_american: bool | None) -> Spec | str:
    try:
        return read_by_grammar(text, kind, old_american)
    except NotationError as refused:
        return f"{refused.code}: {refused.message}"


def test_both_roads_end_at_the_same_value_on_whatever_looks_like_a_notation():
    dice, short = random.Random(1934), 0
    for _ in range(STRINGS):
        text, kind = _notation(dice), dice.choice((None, None, *KINDS))
        spec = read_common_shape(text, kind)
        if spec is not None:
            short += 1
            for knows in (None, False):
                assert repr(_by_grammar(text, kind, knows)) == repr(spec), (text, kind)
    assert short > STRINGS // 20


@pytest.mark.parametrize("with_kind", [True, False])
def test_what_a_list_of_parts_holds_takes_the_short_cut(with_kind):
    pairs = [(text, kind if with_kind else None) for text, kind in mixed(2_000)]
    short = [(text, kind, spec) for text, kind in pairs if (spec := read_common_shape(text, kind)) is not None]
    assert len(short) > 0.98 * len(pairs)
    for text, kind, spec in short:
        assert repr(_by_grammar(text, kind, None)) == repr(spec), (text, kind)
