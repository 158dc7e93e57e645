"""Which words can be part of a number of ours, so that others aren't looked for among all numbers."""

import pytest

from shop.numbers import Number
from shop.search_text import fold, may_be_numbered


@pytest.mark.parametrize("series", ["J", "R", "C", "B"])
def test_every_piece_of_a_number_can_be_part_of_one(series: str) -> None:
    whole = fold(str(Number(series, 2026, 41)))
    pieces = {whole[first:last] for first in range(len(whole)) for last in range(first + 1, len(whole) + 1)}
    assert all(may_be_numbered(piece) for piece in pieces)
    assert all(may_be_numbered(fold(str(Number(series, 2026, sequence)))) for sequence in (1, 9_999, 123_456))


@pytest.mark.parametrize("word", ["0.1", "brzask", "47n", "ecc83", "j/41", "2026-0041-1-x", "ł"])
def test_other_words_can_not(word: str) -> None:
    assert not may_be_numbered(word)
