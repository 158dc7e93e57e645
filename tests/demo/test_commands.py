"""The commands that set a shop up and serve it: what they refuse, what they use again, what they print."""

import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from shop.demo.papers import FolderRefused, open_folder
from shop.management import serving
from shop.models import Bench, Profile, Role, Staff
from tests.builders import a_customer, a_profile

Run = Callable[..., str]
GIVEN = {"name": "Tolliver Radio", "country": "gb", "currency": "gbp", "login": "tolliver", "password": "heater-and-grid-7"}


def words(options: dict[str, str]) -> list[str]:
    return [f"--{option}={value}" for option, value in options.items()]


@pytest.fixture
def taken() -> Iterator[socket.socket]:
    """A port that somebody else listens on."""
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        yield busy


@pytest.mark.django_db
def test_start_sets_the_shop_up_from_its_options(run_command: Run) -> None:
    printed = run_command("start", "--no-serve", *words(GIVEN))
    assert "Tolliver Radio is set up: GB, GBP, 2 benches." in printed
    profile = Profile.current()
    assert profile is not None
    assert (profile.country, profile.currency, profile.line_volts) == ("GB", "GBP", 230)
    owner = Staff.objects.get(username="tolliver")
    assert owner.role == Role.OWNER
    assert owner.check_password(GIVEN["password"])
    assert Bench.objects.count() == 2


@pytest.mark.django_db
def test_a_second_start_uses_what_is_there(run_command: Run) -> None:
    run_command("start", "--no-serve", *words(GIVEN))
    printed = run_command("start", "--no-serve", *words({**GIVEN, "name": "Another"}))
    assert printed == "Tolliver Radio is set up already and is used as it is.\n"
    assert run_command("start", no_serve=True) == printed
    assert Staff.objects.count() == 1


@pytest.mark.django_db
def test_start_without_a_terminal_names_what_is_missing() -> None:
    with pytest.raises(CommandError, match="without a terminal. Give also: --currency --password."):
        call_command("start", no_serve=True, **{**GIVEN, "currency": None, "password": ""})


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"country": "Britain"}, "“Britain” isn't a country code. Use two letters, such as GB or US."),
        ({"currency": "QQQ"}, "“QQQ” isn't a currency code of ISO 4217. Use three letters, such as GBP or USD."),
        ({"password": "short"}, "This password is too short. It must contain at least 8 characters."),
    ],
)
def test_start_refuses_what_can_not_be(wrong: dict[str, str], said: str) -> None:
    with pytest.raises(CommandError) as refused:
        call_command("start", no_serve=True, **{**GIVEN, **wrong})
    assert str(refused.value) == said
    assert Profile.current() is None


@pytest.mark.django_db
def test_serve_needs_a_shop() -> None:
    with pytest.raises(CommandError, match="No shop is set up here yet. Set one up with start"):
        call_command("serve")


@pytest.mark.django_db
def test_the_demo_is_not_written_into_another_shop(tmp_path: Path) -> None:
    a_profile(name="Tolliver Radio")
    with pytest.raises(CommandError, match="This database holds the shop “Tolliver Radio”, so the demo isn't written into it."):
        call_command("demo", once=True, out=tmp_path)


@pytest.mark.django_db
def test_the_demo_is_not_written_beside_data_without_a_shop(tmp_path: Path) -> None:
    a_customer()
    with pytest.raises(CommandError, match="This database holds data, so the demo isn't written into it."):
        call_command("demo", once=True, out=tmp_path)


@pytest.mark.django_db
def test_a_folder_that_can_not_be_written_to_is_refused_before_anything_is_loaded(tmp_path: Path) -> None:
    (tmp_path / "a-file").write_text("in the way")
    with pytest.raises(CommandError, match="a-file/papers can't be written to .*Choose another folder with --out."):
        call_command("demo", once=True, out=tmp_path / "a-file" / "papers")
    assert Profile.current() is None


def test_a_folder_is_made_where_it_was_not(tmp_path: Path) -> None:
    assert open_folder(tmp_path / "new" / "papers").is_dir()
    with pytest.raises(FolderRefused):
        open_folder(Path("/dev/null/papers"))


def test_the_next_port_is_used_when_one_is_taken_and_said(taken: socket.socket) -> None:
    port = taken.getsockname()[1]
    told: list[str] = []
    with serving.listen("127.0.0.1", port, told.append) as bound:
        used = bound.getsockname()[1]
        assert port < used < port + serving.PORTS_TRIED
        assert told == [f"Port {port} is taken, so {used} is used."]
        assert serving.address_of(bound) == f"http://127.0.0.1:{used}/"


@pytest.mark.parametrize(
    ("host", "port", "said"),
    [
        ("127.0.0.1", 0, "0 isn't a port. Use a number from 1 to 65535."),
        ("203.0.113.7", 8017, "Listening on 203.0.113.7 would let others in, and this shop is for this machine only."),
    ],
)
def test_an_address_that_is_not_ours_is_refused(host: str, port: int, said: str) -> None:
    def nobody(text: str) -> Any:
        raise AssertionError(text)

    with pytest.raises(CommandError, match=said):
        serving.listen(host, port, nobody)
