import pytest

from shop.setup.trouble import explain

# Lines as pip and the operating systems print them.
SAYINGS = {
    "Temporary failure in name resolution": "The package index can't be reached.",
    "[Errno 111] Connection refused": "The package index can't be reached.",
    "OSError: [Errno 28] No space left on device": "The disk is full.",
    "[Errno 13] Permission denied: '.venv'": "This folder can't be written to.",
    "[Errno 30] Read-only file system: '.venv'": "This folder can't be written to.",
    "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.": "it was not installed.",
    "ERROR: No matching distribution found for django==5.2": "no ready-made package for this Python",
}


@pytest.mark.parametrize("line", SAYINGS)
def test_a_known_failure_is_told_in_words(line: str) -> None:
    told = str(explain(f"before\n{line}\nafter", "Installing the packages"))
    assert told.startswith("Installing the packages failed. ")
    assert SAYINGS[line] in told
    assert line in told


def test_a_network_failure_is_not_taken_for_a_missing_package() -> None:
    output = "[Errno -3] Temporary failure in name resolution\nERROR: No matching distribution found for django==5.2"
    assert "Check the network" in str(explain(output, "Installing the packages"))


def test_an_unknown_failure_shows_its_last_lines() -> None:
    told = str(explain("\n".join(f"line {n}" for n in range(20)), "Installing the packages"))
    assert told.endswith("  line 19")
    assert "line 11" not in told
