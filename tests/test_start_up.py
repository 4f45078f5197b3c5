"""What starts and what refuses to, each in a process of its own; what is in git."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.test_architecture import ROOT

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "requirements.txt",
    "docker-compose.yml",
    "clinic",
    "programs",
    "outcomes",
    "templates",
    "static",
    "tests",
}
SERVER = "postgres://nobody@127.0.0.1:1/nothing"  # named, never reached
KEY = "a-key-made-for-the-tests-0123456789" * 2
SHOW = (
    "import django; django.setup(); from django.conf import settings as s;"
    "print(s.DEBUG, s.ALLOWED_HOSTS, s.SESSION_COOKIE_SECURE, s.SECURE_SSL_REDIRECT)"
)


def start(
    *arguments: str, data: Path, **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run Python on the project's own settings and nothing else from outside."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return subprocess.run(
        [sys.executable, *arguments],
        env={
            **kept,
            "DJANGO_SETTINGS_MODULE": "clinic.settings",
            "TROCHLEA_DATA": str(data),
            **environment,
        },
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def last_line(run: subprocess.CompletedProcess[str]) -> str:
    """Return the sentence that a refusal ends with."""
    return run.stderr.strip().splitlines()[-1]


# Refusing


def test_a_server_without_a_key_does_not_start(tmp_path: Path) -> None:
    """The sentence names the setting and how to make a key."""
    run = start("-c", "import clinic.wsgi", data=tmp_path, DATABASE_URL=SERVER)
    assert run.returncode != 0
    assert "TROCHLEA_KEY" in last_line(run)
    assert "secrets.token_urlsafe" in last_line(run)


def test_a_switch_takes_two_words_only(tmp_path: Path) -> None:
    """HTTPS is never switched off by a slip of the keyboard."""
    run = start("-c", "import clinic.wsgi", data=tmp_path, TROCHLEA_HTTPS="no")
    assert run.returncode != 0
    assert "TROCHLEA_HTTPS" in last_line(run)
    assert "on or off" in last_line(run)


def test_a_jurisdiction_is_one_of_four(tmp_path: Path) -> None:
    """An export is never worded by a law that nobody chose."""
    named = {"TROCHLEA_JURISDICTION": "usa"}
    run = start("-c", "import clinic.wsgi", data=tmp_path, **named)
    assert run.returncode != 0
    assert last_line(run).endswith(
        "TROCHLEA_JURISDICTION is 'usa': write united-states, united-kingdom, "
        "european-union or elsewhere."
    )


def test_without_hosts_it_answers_on_loopback_only(tmp_path: Path) -> None:
    """Nobody else can reach what nobody has named."""
    run = start("-c", SHOW, data=tmp_path, TROCHLEA_KEY=KEY, DATABASE_URL=SERVER)
    assert run.stdout.strip() == (
        "False ['127.0.0.1', 'localhost', '[::1]'] False False"
    )


# Starting


def test_naming_a_host_turns_https_on(tmp_path: Path) -> None:
    """Secure cookies and the redirect come with the first real name."""
    named = {"TROCHLEA_KEY": KEY, "TROCHLEA_HOSTS": "clinic.example"}
    run = start("-c", SHOW, data=tmp_path, **named)
    assert run.stdout.strip() == "False ['clinic.example'] True True"


def test_the_key_of_a_single_machine_is_kept_and_private(tmp_path: Path) -> None:
    """Without a server the key is made once, in a file for the owner alone."""
    show_key = "from django.conf import settings; print(settings.SECRET_KEY)"
    first = start("-c", show_key, data=tmp_path).stdout
    assert len(first.strip()) >= 50
    assert start("-c", show_key, data=tmp_path).stdout == first
    assert (tmp_path / "key").stat().st_mode & 0o077 == 0


def test_production_settings_pass_the_deployment_checks(tmp_path: Path) -> None:
    """check --deploy has nothing to warn of."""
    named = {"TROCHLEA_KEY": KEY, "TROCHLEA_HOSTS": "clinic.example"}
    check = ("manage.py", "check", "--deploy", "--fail-level", "WARNING")
    run = start(*check, data=tmp_path, **named)
    assert run.returncode == 0, run.stderr


# In git


def tracked_files() -> list[str]:
    """List what git holds; skip in a copy without its history."""
    command = ["git", "-c", "safe.directory=*", "ls-files", "-z"]
    try:
        run = subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    except (FileNotFoundError, subprocess.CalledProcessError):
        if os.environ.get("CI") == "true":
            raise
        pytest.skip("this copy of the project is no git checkout")
    return [name for name in run.stdout.decode().split("\0") if name]


def test_the_top_level_stays_as_it_is() -> None:
    """Visible names are fixed; dotfiles come and go."""
    names = {name.split("/")[0] for name in tracked_files()}
    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_no_file_names_a_machine() -> None:
    """Neither a developer's folders nor a package host stand in any file."""
    path = r"(?<![\w.-])/(home|root|tmp|work|Users)/"
    host = r"^\s*--?(index-url|extra-index-url|find-links|i|f)\b"
    found = []
    for name in tracked_files():
        if (file := ROOT / name).is_file():
            text = file.read_bytes().decode(errors="ignore")
            if re.search(path, text):
                found.append(name)
            elif name.endswith(("requirements.txt", ".in")):
                found += [name] if re.search(host, text, re.M) else []
    assert found == []
