"""A text at the size at which it fits; what doesn't fit at the smallest is cut, and says so."""

import pytest

from shop.paper.styles import fitted, width_of


@pytest.mark.parametrize("room", [40.0, 200.0])
@pytest.mark.parametrize("words", ["Merrowby Kestrel 5 " * 40, "W" * 900, "i" * 900, "😀👩" * 200])
def test_what_is_cut_fits_to_the_last_sign(words: str, room: float) -> None:
    cut, size = fitted(words, room, 13, 7)
    assert size == 7
    assert cut.endswith("…")
    assert width_of(cut, size) <= room + 0.01
    longer = fitted(words, room + 13, 13, 7)[0]
    assert longer.startswith(cut[:-1])
    assert len(longer) > len(cut)


def test_where_not_one_sign_fits_nothing_is_written() -> None:
    assert fitted("Kestrel", 1, 13, 7) == ("", 7)


def test_what_fits_at_a_smaller_size_is_whole() -> None:
    words, size = fitted("Merrowby Kestrel 5", 70, 13, 7)
    assert words == "Merrowby Kestrel 5"
    assert 7 < size < 13
