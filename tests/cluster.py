"""A PostgreSQL of a test's own, that it may stop and start, with its replica."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import requests

from tests.test_architecture import ROOT

MAKE_CLINIC = """
import json, django
django.setup()
from django.core.management import call_command
call_command("migrate", interactive=False, verbosity=0)
from django.test import Client
from tests.factories import make_episode, make_site, make_user
from clinic.access import Role
site = make_site()
lead = make_user(site=site, role=Role.LEAD)
case = make_episode(by=lead)
client = Client()
client.force_login(lead)
print(json.dumps({"session": client.session.session_key, "case": case.pk}))
"""


def free_port() -> int:
    """Return a port that nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def until(holds: Callable[[], Any], *, seconds: float = 15) -> None:
    """Wait until something holds; fail where it does not."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return
        time.sleep(0.05)
    raise AssertionError(f"not within {seconds} s: {holds}")


@dataclass(slots=True)
class Cluster:
    """A running server with the tables and one invented clinic."""

    root: Path
    programs: Path
    port: int
    environment: dict[str, str]
    known: dict[str, Any] = field(default_factory=dict)
    copy_port: int = 0

    def as_postgres(self, *words: str | Path) -> None:
        """Run one of PostgreSQL's programs as the user who owns the files."""
        switch = ("runuser", "-u", "postgres", "--") if os.getuid() == 0 else ()
        subprocess.run(
            [*switch, *map(str, words)],
            cwd=self.root,
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def stop(self, name: str = "data") -> None:
        """Stop the server or its replica as a restart of the machine does."""
        control = self.programs / "pg_ctl"
        self.as_postgres(control, "-D", self.root / name, "-m", "fast", "-w", "stop")

    def start(self, name: str = "data") -> None:
        """Start the server or its replica."""
        port = self.port if name == "data" else self.copy_port
        words = (
            f"-c listen_addresses=127.0.0.1 -c port={port} -c fsync=off "
            f"-c unix_socket_directories={self.root}"
        )
        log, control = self.root / f"{name}.log", self.programs / "pg_ctl"
        place = self.root / name
        self.as_postgres(control, "-D", place, "-l", log, "-w", "-o", words, "start")

    def copy(self) -> str:
        """Make a streaming replica, start it and return its address."""
        self.copy_port = free_port()
        server = ("-h", "127.0.0.1", "-p", str(self.port), "-U", "postgres")
        program = self.programs / "pg_basebackup"
        how = ("-R", "-X", "stream", "-c", "fast", "-D", self.root / "copy")
        self.as_postgres(program, *server, *how)
        self.start("copy")
        return f"postgres://postgres@127.0.0.1:{self.copy_port}/trochlea"

    def run(self, *words: str, **more: str) -> str:
        """Run Python with the project's own settings on this database."""
        environment = {**self.environment, **more}
        return subprocess.run(
            [sys.executable, *words],
            env=environment,
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        ).stdout


def has_server() -> bool:
    """Whether the programs of a PostgreSQL server are on this machine."""
    installed = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    return any(installed) or shutil.which("initdb") is not None


def make_cluster(folder: Path) -> Cluster:
    """Start a server with the tables and one invented clinic."""
    plain = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    said = subprocess.check_output(["bash", ".ci/pg_up.sh"], cwd=ROOT, text=True)
    told = dict(word.split("=", 1) for word in said.split()[1:])
    address = told["DATABASE_URL"]
    cluster = Cluster(
        root=Path(told["PGROOT"]),
        programs=Path(told["PGBIN"]),
        port=int(address.rsplit(":", 1)[1].split("/")[0]),
        environment={
            **plain,
            "DJANGO_SETTINGS_MODULE": "clinic.settings",
            "DATABASE_URL": address,
            "TROCHLEA_DATA": str(folder),
            "TROCHLEA_KEY": "only-for-tests-" * 5,
        },
    )
    cluster.known = json.loads(cluster.run("-c", MAKE_CLINIC).splitlines()[-1])
    return cluster


def remove(cluster: Cluster) -> None:
    """Stop what still runs and remove the files."""
    for name in ("copy", "data"):
        if (cluster.root / name / "postmaster.pid").exists():
            cluster.stop(name)
    shutil.rmtree(cluster.root, ignore_errors=True)


@dataclass(slots=True)
class Web:
    """A web process of its own, as the container runs it, with a signed-in browser."""

    process: subprocess.Popen[bytes]
    address: str
    browser: requests.Session = field(default_factory=requests.Session)

    def get(self, path: str) -> requests.Response:
        """Ask for a page."""
        return self.browser.get(self.address + path, timeout=60)

    def post(self, path: str, **sent: str) -> requests.Response:
        """Send a form with its safety mark."""
        mark = self.browser.cookies.get("csrf") or ""
        return self.browser.post(
            self.address + path,
            data={"csrfmiddlewaretoken": mark, **sent},
            timeout=60,
            allow_redirects=False,
        )

    def close(self) -> None:
        """Let go of the connection and ask the process to end."""
        self.browser.close()
        self.process.terminate()

    def end(self) -> int:
        """Ask the process to end, and return what it ended with."""
        self.process.terminate()
        return self.process.wait(60)


def serve(
    environment: dict[str, str], *, app: str = "clinic.wsgi", session: str = ""
) -> Web:
    """Start a web process and wait until it answers."""
    port = free_port()
    words = ["-m", "gunicorn", app, "--config", "python:clinic.web_server"]
    process = subprocess.Popen(
        [sys.executable, *words, "--bind", f"127.0.0.1:{port}"],
        env=environment,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    web = Web(process, f"http://127.0.0.1:{port}")
    if session:
        web.browser.cookies.set("session", session, domain="127.0.0.1")

    def answers() -> bool:
        try:
            return web.get("/health/").ok
        except requests.ConnectionError:
            return False

    until(answers, seconds=30)
    return web
