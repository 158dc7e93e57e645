import tempfile
from pathlib import Path

import psycopg
import pytest

from shop.setup import cluster
from shop.setup.console import Problem

pytestmark = pytest.mark.postgresql


def folders() -> set[Path]:
    return set(Path(tempfile.gettempdir()).glob("shop-postgresql-*"))


def test_a_scratch_server_answers_and_leaves_nothing() -> None:
    before = folders()
    with cluster.scratch_cluster() as url, psycopg.connect(url) as connection:
        assert url.startswith("postgres://shop@127.0.0.1:")
        assert connection.execute("SELECT current_database()").fetchone() == ("shop",)
        assert len(folders() - before) >= 1
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url, connect_timeout=2)


def test_a_machine_without_a_server_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "binaries", lambda: [])
    with pytest.raises(Problem, match=r"were not found.\nInstall PostgreSQL's server."), cluster.scratch_cluster():
        pass


def test_a_program_of_the_same_name_on_the_path_is_not_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("initdb", "pg_config"):
        (tmp_path / name).write_text("#!/bin/sh\necho a wrapper of something else\n")
        (tmp_path / name).chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")
    assert tmp_path not in cluster.binaries()


def test_the_newest_of_several_servers_comes_first() -> None:
    places = ["/usr/lib/postgresql/9/bin", "/usr/lib/postgresql/15/bin", "/usr/lib/postgresql/16/bin"]
    assert sorted(places, key=cluster._version_in, reverse=True)[0] == "/usr/lib/postgresql/16/bin"


def test_a_server_that_does_not_start_says_why(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "initdb"
    broken.write_text("#!/bin/sh\necho the disk is on fire\nexit 1\n")
    broken.chmod(0o755)
    monkeypatch.setattr(cluster, "binaries", lambda: [tmp_path])
    monkeypatch.setattr(cluster, "_as_user", lambda: {})
    with pytest.raises(Problem, match="the disk is on fire"), cluster.scratch_cluster():
        pass
