import re

import pytest

from shop.setup.lock_files import RUN_LOCK, TEST_LOCK, pins
from tests.house.checkout import ROOT


def test_the_test_list_has_every_pin_of_the_running_list() -> None:
    assert pins(ROOT / RUN_LOCK).items() <= pins(ROOT / TEST_LOCK).items()


@pytest.mark.parametrize("name", [RUN_LOCK, TEST_LOCK])
def test_every_pin_has_hashes_and_no_index_is_named(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    blocks = re.split(r"(?m)^(?=[A-Za-z0-9])", text)[1:]
    assert [block.split()[0] for block in blocks if "--hash=sha256:" not in block] == []
    assert "index-url" not in text
    assert len(blocks) == len(pins(ROOT / name))


@pytest.mark.parametrize(("name", "needed"), [(RUN_LOCK, "tzdata"), (TEST_LOCK, "tzdata"), (TEST_LOCK, "colorama")])
def test_lists_hold_what_only_windows_needs(name: str, needed: str) -> None:
    """pip-compile leaves it out on other systems, and a hashed install refuses whatever is not listed."""
    assert needed in pins(ROOT / name)
