"""Whatever is typed where a value belongs: a value or a refusal that says what would be accepted, after bounded work."""

import random
import sys
from types import FrameType

import pytest

from inventory.components.notation import KINDS, NotationError, Spec, read_notation

STRINGS = 5_000
LINES = 8_000  # a notation of ordinary length takes some 600 lines of code
CODES = ("unreadable", "ambiguous", "too_long", "out_of_range")
HINTS = ("like ", "e.g. ", "Choose one", "use one of", "at most")
TRADE = (
    "0.05",
    "MFD",
    "600 V",
    "4K7",
    "½",
    "1/2",
    "470K",
    "10%",
    "22n",
    "X2",
    "Y1",
    "mF",
    "ohm",
    "Ω",
    "ω",
    "±",
    "+80/-20",
    "25,000",
    "103",
)
PIECES = (
    *TRADE,
    *"0123456789.,+-/()@~&:;%kKMmRrnpuµGVWAHFxXyY ",
    "9**9**9",
    "0x1F",
    "1e400",
    "__import__",
    "'; DROP",
    "{}",
    "%s",
)
ODD = "\x00\x1b\x7f\u00a0\u2028\u202e\ufeff\ud800²³¼٣७零𝟘😀İß\N{COMBINING ACUTE ACCENT}"
SHAPES = (
    lambda dice: "".join(dice.choice(PIECES) for _ in range(dice.randint(0, 20))),
    lambda dice: " ".join(dice.choice(TRADE) for _ in range(dice.randint(1, 8))),
    lambda dice: "".join(chr(dice.randrange(0x110000)) for _ in range(dice.randint(1, 40))),
    lambda dice: "".join(dice.choice(PIECES) + dice.choice(ODD) for _ in range(dice.randint(1, 12))),
    lambda dice: dice.choice(PIECES) * dice.randint(1, 120),
    lambda dice: (dice.choice(PIECES) + dice.choice(PIECES)) * dice.randint(1, 40),
    lambda dice: str(10 ** dice.randint(0, 79) - dice.randint(0, 9)) + dice.choice(("", " V", "k", " pF", "/450")),
    lambda dice: dice.choice("+-(±") * dice.randint(1, 79) + "47k",
    lambda dice: dice.choice("abcxyzΩµ") * 80,
)


def _strings(count: int) -> list[str]:
    dice = random.Random(1925)
    return [dice.choice(SHAPES)(dice) for _ in range(count)]


def _answer(text: str, kind: str | None) -> Spec | NotationError:
    try:
        return read_notation(text, kind)
    except NotationError as refused:
        return refused


def _is_proper(answer: Spec | NotationError, kind: str | None) -> bool:
    if isinstance(answer, Spec):
        return answer.value.is_finite() and bool(answer.unit) and kind in (None, answer.kind)
    says_how = any(hint in answer.message for hint in HINTS) and len(answer.message) < 1000
    return answer.code in CODES and says_how and (answer.code == "ambiguous") == (len(answer.readings) > 1)


@pytest.mark.parametrize("kind", [None, *KINDS])
def test_every_string_gives_a_value_with_its_unit_or_says_what_would_be_accepted(kind):
    for text in _strings(STRINGS):
        answer = _answer(text, kind)
        assert _is_proper(answer, kind), (text, kind, answer)


def _lines_run(text: str, kind: str | None) -> int:
    """Lines of Python that a reading takes: unlike seconds, the same on a busy machine."""
    count = 0

    def trace(frame: FrameType, event: str, argument: object) -> object:
        nonlocal count
        count += event == "line"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        _answer(text, kind)
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize("kind", [None, "capacitance", "resistance"])
def test_no_string_takes_more_than_bounded_work(kind):
    repeated = [(one + other) * 40 for one in PIECES[:40] for other in ("", " ", ",", "½", "/", "+")]
    texts = [*_strings(400), *(text[:length] for text in repeated for length in (30, 80))]
    for text in texts:
        _answer(text, kind)  # reads the tables of units, once for all
    for text in texts:
        assert _lines_run(text, kind) < LINES, text
