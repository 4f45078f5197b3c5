"""manage.py serve: this machine only, and nothing before the clinic is ready."""

import socket
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from clinic import editions, serving
from clinic.management.commands import serve
from clinic.models import Site


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, list[str]]]:
    """Collect what would replace this process."""
    started: list[tuple[str, list[str]]] = []
    monkeypatch.setattr(
        serving.os, "execv", lambda path, words: started.append((path, words))
    )
    return started


def free_port() -> int:
    """Return a port that nobody uses."""
    with socket.socket() as probe:
        probe.bind((serving.HOST, 0))
        port: int = probe.getsockname()[1]
        return port


def run(port: int = 0) -> str:
    """Return what the command prints."""
    out = StringIO()
    call_command("serve", port=port or free_port(), stdout=out)
    return out.getvalue()


def test_it_prints_the_address_and_serves_loopback_only(
    site: Site, served: list[tuple[str, list[str]]]
) -> None:
    """With the sturdier server where there is one."""
    port = free_port()
    assert f"Open http://127.0.0.1:{port}/" in run(port)
    [(_, words)] = served
    assert words[words.index("--bind") + 1] == f"127.0.0.1:{port}"
    assert "gunicorn" in words


def test_without_gunicorn_djangos_own_server_serves(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On systems that cannot run it."""
    ports: list[int] = []
    monkeypatch.setattr(serve, "has_gunicorn", lambda: False)
    monkeypatch.setattr(serve, "serve_django", ports.append)
    port = free_port()
    run(port)
    assert ports == [port]


def test_without_a_clinic_the_first_step_is_named(db: None) -> None:
    """Nothing is served that nobody could sign in to."""
    with pytest.raises(CommandError, match=r"manage\.py add_site"):
        run()


def test_settings_for_a_network_are_refused(site: Site, settings: Any) -> None:
    """Plain http is for this machine alone."""
    settings.IS_LOOPBACK_ONLY = False
    with pytest.raises(CommandError, match="docker compose up"):
        run()


def test_a_used_port_is_refused(site: Site) -> None:
    """Before anything is started."""
    with socket.socket() as taken:
        taken.bind((serving.HOST, 0))
        taken.listen()
        with pytest.raises(CommandError, match="Choose another with --port"):
            run(taken.getsockname()[1])


def test_old_tables_ask_for_migrate(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A new version is not served on the tables of an old one."""
    newer = editions.known() | {"clinic.9999_not_yet"}
    monkeypatch.setattr(editions, "known", lambda: newer)
    with pytest.raises(CommandError, match=r"run: manage\.py migrate"):
        run()
