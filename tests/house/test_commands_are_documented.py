import re

import pytest
from django.core.management import get_commands, load_command_class

from tests.house.checkout import ROOT

APPS = {"shop", "inventory", "jobs", "billing"}
DOCUMENTS = ("README.md", "DEVELOPERS.md")
OURS = sorted(name for name, app in get_commands().items() if app in APPS)


@pytest.mark.parametrize("name", OURS)
def test_a_command_says_what_it_does(name: str) -> None:
    app = get_commands()[name]
    assert isinstance(app, str)
    assert load_command_class(app, name).help.strip()


@pytest.mark.parametrize("name", [*OURS, "selftest"])
def test_a_command_is_shown_in_the_documents(name: str) -> None:
    written = "\n".join((ROOT / document).read_text(encoding="utf-8") for document in DOCUMENTS)
    assert re.search(rf"manage\.py {re.escape(name)}\b", written), f"manage.py {name} is in neither {' nor '.join(DOCUMENTS)}"
