"""manage.py add_site and add_person."""

import os
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from clinic.access import Role
from clinic.models import Site, User

ROOT = Path(__file__).parent.parent.parent


def run(*words: str, **options: Any) -> str:
    """Return what a command prints."""
    out = StringIO()
    call_command(*words, stdout=out, **options)
    return out.getvalue()


def test_a_site_is_added_and_the_next_step_named(db: None) -> None:
    """The command for the first person stands in the output."""
    out = run("add_site", "Invented Knee Clinic")
    assert Site.objects.get().name == "Invented Knee Clinic"
    assert 'manage.py add_person USERNAME --site "Invented Knee Clinic"' in out


def test_a_second_site_of_the_same_name_is_refused(site: Site) -> None:
    """The message says why."""
    with pytest.raises(CommandError, match="already"):
        run("add_site", f" {site.name} ")
    with pytest.raises(CommandError, match="Fill this in"):
        run("add_site", "  ")


def test_a_real_clinic_does_not_come_beside_the_demonstration(site: Site) -> None:
    """The message says how to start with an empty folder; nothing is added."""
    Site.objects.update(is_demo=True)
    with pytest.raises(CommandError, match="set TROCHLEA_DATA to its path"):
        run("add_site", "Invented Real Clinic")
    assert Site.objects.count() == 1


def test_a_person_signs_in_once_by_the_address_printed(site: Site) -> None:
    """The address opens the choice of a passphrase."""
    out = run(
        "add_person",
        "l.adeyne",
        site=site.name,
        role="lead",
        given_name="Lin",
        family_name="Adeyne",
    )
    person = User.objects.get()
    assert (str(person), person.role) == ("Lin Adeyne", Role.LEAD)
    assert not person.has_usable_password()
    address = re.search(r"http://127\.0\.0\.1:8000(/\S+)", out)
    assert address
    assert Client().get(address[1], follow=True).status_code == 200
    assert "opens once, within three days" in out
    assert "manage.py serve" in out


@pytest.mark.parametrize(
    ("hosts", "is_https", "start"),
    [
        (["knees.example.org"], True, "https://knees.example.org/"),
        ([".example.org"], False, "http://example.org/"),
        (["*"], False, "http://YOUR-ADDRESS/"),
    ],
)
def test_the_address_is_the_one_of_this_installation(
    site: Site, settings: Any, hosts: list[str], is_https: bool, start: str
) -> None:
    """The first host that the settings name."""
    settings.ALLOWED_HOSTS = hosts
    settings.IS_LOOPBACK_ONLY = False
    settings.HTTPS = is_https
    assert start in run("add_person", "l.adeyne", site=site.name, role="clinician")


def test_mistakes_are_named(site: Site) -> None:
    """An unknown site, a taken user name, an impossible one."""
    with pytest.raises(CommandError, match="The sites are: “Invented Knee Clinic”"):
        run("add_person", "l.adeyne", site="Nowhere", role="lead")
    run("add_person", "l.adeyne", site=site.name, role="lead")
    with pytest.raises(CommandError, match="choose another user name"):
        run("add_person", "l.adeyne", site=site.name, role="lead")
    with pytest.raises(CommandError, match="user name without spaces"):
        run("add_person", "not a name", site=site.name, role="lead")
    assert User.objects.count() == 1


def test_the_first_site_sets_the_database_up(tmp_path: Path) -> None:
    """On a fresh machine it is the first command that anybody runs."""
    env = {**os.environ, "TROCHLEA_DATA": str(tmp_path / "data")}
    env["DJANGO_SETTINGS_MODULE"] = "clinic.settings"
    env.pop("DATABASE_URL", None)
    command = [sys.executable, "manage.py"]
    early = [*command, "add_person", "a.b", "--site", "First", "--role", "lead"]
    done = subprocess.run(early, env=env, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 1
    assert 'manage.py add_site "First"' in done.stderr
    done = subprocess.run(
        [*command, "add_site", "First"],
        env=env,
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert "Set up a new database" in done.stdout
    done = subprocess.run(early, env=env, cwd=ROOT, capture_output=True, text=True)
    assert "http://127.0.0.1:8000/" in done.stdout
