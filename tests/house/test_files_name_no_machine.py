"""Nothing committed leans on where it was written: package indexes, folders of one machine. The words are built, not written."""

import re

from tests.house.checkout import texts

INDEXES = (
    ("pypi", "org"),
    ("pythonhosted", "org"),
    ("npmjs", "org"),
    ("npmjs", "com"),
    ("deb", "debian", "org"),
    ("jsdelivr", "net"),
    ("unpkg", "com"),
    ("crates", "io"),
)
HOST = re.compile(r"\b(?:" + "|".join(r"\.".join(parts) for parts in INDEXES) + r")\b", re.IGNORECASE)
FOLDER = re.compile(r"(?<![\w.:/-])/(?:" + "|".join(("work", "root", "home")) + r")/\w")


def found(pattern: re.Pattern[str]) -> list[str]:
    return [f"{name}: {match.group()}" for name, text in texts() for match in pattern.finditer(text)]


def test_no_file_names_a_package_index() -> None:
    assert found(HOST) == []


def test_no_file_names_a_folder_of_one_machine() -> None:
    assert found(FOLDER) == []


def test_no_file_is_left_in_conflict() -> None:
    assert found(re.compile(r"^(?:<{7}|>{7}) ", re.MULTILINE)) == []
