"""From where the shop can be reached: what is refused by name, what follows, and who may read the key."""

import os
import stat
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError

from shop.environment import BadEnvironment
from shop.management import reaching, serving
from shop.sign_in.key_file import secret_key
from shop.sign_in.reach import read_reach

ROOT = Path(__file__).resolve().parents[2]
INTERNET = {
    "SHOP_REACH": "internet",
    "SHOP_HOSTS": "radios.example",
    "SHOP_ORIGINS": "https://radios.example",
    "SHOP_PROXIES": "1",
}
NAMES = ("SHOP_REACH", "SHOP_HOSTS", "SHOP_ORIGINS", "SHOP_HTTPS", "SHOP_PROXIES", "SHOP_IDLE_MINUTES", "SHOP_LONGEST_HOURS")


@pytest.fixture(autouse=True)
def nothing_set(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in NAMES:
        monkeypatch.delenv(name, raising=False)


def reach(monkeypatch: pytest.MonkeyPatch, **given: str) -> Any:
    for name, value in given.items():
        monkeypatch.setenv(name, value)
    return read_reach()


def test_with_nothing_set_it_is_this_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    found = reach(monkeypatch)
    assert (found.name, found.hosts, found.is_https, found.proxies) == ("machine", ["localhost", "127.0.0.1", "[::1]"], False, 0)
    assert (found.idle, found.longest) == (timedelta(hours=12), timedelta(days=7))


def test_the_internet_is_stricter(monkeypatch: pytest.MonkeyPatch) -> None:
    found = reach(monkeypatch, **INTERNET)
    assert (found.hosts, found.is_https, found.proxies) == (["radios.example"], True, 1)
    assert (found.idle, found.longest) == (timedelta(minutes=30), timedelta(hours=12))
    assert found.owners_need_a_second_factor
    assert found.exceptions == ()


def test_what_the_network_does_without_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(reach(monkeypatch, SHOP_REACH="network").exceptions) == 3
    assert len(reach(monkeypatch, SHOP_HOSTS="counter.lan").exceptions) == 2
    assert reach(monkeypatch, SHOP_HTTPS="True").exceptions == ()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"SHOP_REACH": "world"}, "Unexpected value SHOP_REACH=world, use 'machine', 'network' or 'internet'."),
        ({"SHOP_IDLE_MINUTES": "4"}, "Unexpected value SHOP_IDLE_MINUTES=4, use a whole number from 5 to 1440."),
        ({"SHOP_LONGEST_HOURS": "soon"}, "Unexpected value SHOP_LONGEST_HOURS=soon, use a whole number from 1 to 720."),
        ({"SHOP_PROXIES": "-1"}, "Unexpected value SHOP_PROXIES=-1, use a whole number from 0 to 5."),
        (
            {"SHOP_REACH": "internet"},
            "SHOP_REACH=internet needs SHOP_HOSTS with the names it is reached under, such as radios.example (no star); "
            "SHOP_ORIGINS with their https addresses, such as https://radios.example.",
        ),
        (
            {**INTERNET, "SHOP_HOSTS": "*"},
            "SHOP_REACH=internet needs SHOP_HOSTS with the names it is reached under, such as radios.example (no star).",
        ),
        (
            {**INTERNET, "SHOP_ORIGINS": "http://radios.example"},
            "SHOP_REACH=internet needs SHOP_ORIGINS with their https addresses, such as https://radios.example.",
        ),
        ({**INTERNET, "SHOP_HTTPS": "False"}, "SHOP_REACH=internet needs SHOP_HTTPS left unset or True."),
    ],
)
def test_what_is_missing_or_cannot_be_is_refused_by_name(
    given: dict[str, str], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(BadEnvironment) as refused:
        reach(monkeypatch, **given)
    assert str(refused.value) == said


def test_this_machine_lets_nobody_else_in(settings: Any) -> None:
    with pytest.raises(CommandError) as refused:
        serving.listen("0.0.0.0", 8017, print)
    assert str(refused.value) == (
        "Listening on 0.0.0.0 would let others in, and this shop is for this machine only. Set SHOP_REACH=network for the "
        "shop's own network, or SHOP_REACH=internet behind a proxy that speaks TLS."
    )
    for host in ("127.0.0.1", "::1", "localhost"):
        reaching.refuse_beyond(host)
    settings.REACH = replace(settings.REACH, name="network")
    with serving.listen("0.0.0.0", 18_017, print) as bound:
        assert bound.getsockname()[0] == "0.0.0.0"
    with pytest.raises(CommandError, match=r"Can't listen on 203.0.113.7:8017 .*Choose another --host or --port."):
        serving.listen("203.0.113.7", 8017, print)


def test_the_internet_is_served_behind_a_proxy_only_and_only_it_is_believed(settings: Any) -> None:
    settings.REACH = replace(settings.REACH, name="internet")
    with pytest.raises(CommandError, match="Serving speaks plain HTTP, which is not for the internet.*set SHOP_PROXIES=1"):
        reaching.refuse_beyond("127.0.0.1")
    assert reaching.trusted("127.0.0.1") == {"clear_untrusted_proxy_headers": True}
    settings.REACH = replace(settings.REACH, proxies=2)
    reaching.refuse_beyond("127.0.0.1")
    believed = reaching.trusted("127.0.0.1")
    assert (believed["trusted_proxy"], believed["trusted_proxy_count"]) == ("127.0.0.1", 2)
    assert reaching.said("127.0.0.1") == []
    assert reaching.trusted("0.0.0.0")["trusted_proxy"] == "*"
    assert reaching.said("0.0.0.0") == ["Whoever reaches this port is believed to be the proxy: let only the proxy reach it."]


def test_the_framework_finds_nothing_to_say_against_the_internets_settings(tmp_path: Path) -> None:
    """Nothing is silenced. Cookies, redirects and what browsers are told stand in what is printed."""
    script = (
        "import django; django.setup(); from django.conf import settings as s; from django.core.management import call_command; "
        "call_command('check', deploy=True, fail_level='WARNING'); "
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.SECURE_HSTS_SECONDS, "
        "s.SILENCED_SYSTEM_CHECKS)"
    )
    ours = {
        name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"
    }  # the browser's tests set it
    surroundings = {**ours, **INTERNET, "SHOP_FOLDER": str(tmp_path / "shop"), "DJANGO_SETTINGS_MODULE": "shop.settings"}
    ran = subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=surroundings, capture_output=True, text=True, timeout=60)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines()[-1] == "__Host-sessionid __Host-csrftoken True 31536000 []"
    assert "no issues" in ran.stdout


class TestTheKey:
    def test_is_made_once_for_its_owner_only(self, tmp_path: Path) -> None:
        folder = tmp_path / "shop"
        key = secret_key(folder)
        assert len(key) >= 50
        assert secret_key(folder) == key
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE((folder / "secret.key").stat().st_mode) == 0o600
        assert [one.name for one in folder.iterdir()] == ["secret.key"]

    def test_that_others_can_read_is_shut_and_said(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        key = secret_key(tmp_path)
        (tmp_path / "secret.key").chmod(0o644)
        assert secret_key(tmp_path) == key
        assert stat.S_IMODE((tmp_path / "secret.key").stat().st_mode) == 0o600
        assert "could read the shop's key" in capsys.readouterr().err

    def test_that_is_cut_short_is_refused(self, tmp_path: Path) -> None:
        (tmp_path / "secret.key").write_text("")
        (tmp_path / "secret.key").chmod(0o600)
        with pytest.raises(BadEnvironment, match="is too short to be one. Put the right one back, or delete it for a new one."):
            secret_key(tmp_path)

    def test_in_a_place_that_is_no_folder_is_refused(self, tmp_path: Path) -> None:
        (tmp_path / "a-file").write_text("")
        with pytest.raises(BadEnvironment, match="can't be used .*Set SHOP_FOLDER to one that can be written."):
            secret_key(tmp_path / "a-file")


def test_books_that_others_could_read_are_shut_before_serving(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT, settings.WAITING_FOLDER = tmp_path / "photos", tmp_path / "none"
    settings.DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "shop.sqlite3")}}
    settings.MEDIA_ROOT.mkdir(mode=0o755)
    (tmp_path / "shop.sqlite3").touch(mode=0o644)
    before = os.umask(0o022)
    try:
        reaching.keep_to_owner()
        (tmp_path / "new").touch()
    finally:
        os.umask(before)
    assert [stat.S_IMODE((tmp_path / name).stat().st_mode) for name in ("photos", "shop.sqlite3", "new")] == [0o700, 0o600, 0o600]
