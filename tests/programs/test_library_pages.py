"""Pages of the exercise library."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from clinic.models import User
from programs import library
from programs.library_shelves import drawing_of
from programs.own_exercises import add_exercise, retire_exercise

pytestmark = pytest.mark.usefixtures("clock")
DECIDES = "the clinician decides, and local rules come first"


@pytest.fixture
def client(clinician: User, signed_in: Callable[[User], Client]) -> Client:
    """The clinician's browser."""
    return signed_in(clinician)


def words(answer: Any) -> str:
    """Return the text of an answer, white space evened."""
    return " ".join(answer.content.decode().split())


def test_the_library_shows_every_entry_ladder_by_ladder(client: Client) -> None:
    """In the order of its rungs, each a link."""
    page = words(client.get("/exercises/"))
    for name in library.ladders():
        places = [page.index(f"/exercises/{one.key}/") for one in library.ladder(name)]
        assert places == sorted(places)
    assert all(f"/exercises/{key}/" in page for key in library.library())
    assert DECIDES in page


@pytest.mark.parametrize("key", library.library())
def test_every_entry_has_a_page_with_its_sources(client: Client, key: str) -> None:
    """Target, load with its basis, cautions, evidence with strength and source."""
    entry = library.exercise(key)
    page = words(client.get(f"/exercises/{key}/"))
    assert entry.target in page and DECIDES in page
    for one in entry.evidence:
        assert one.strength[1:] in page and one.mark in page
    if entry.load:
        assert entry.load.tier.label in page and entry.load.mark in page
    if entry.time_limit:
        assert f"{entry.time_limit.weeks} weeks, then review" in page
    assert ('class="drawing"' in page) == bool(drawing_of(key))


def test_a_ladder_is_climbed_by_links(client: Client) -> None:
    """The rung below and the rung above."""
    page = words(client.get("/exercises/squat_half/"))
    assert "/exercises/squat_small/" in page and "/exercises/squat_deep/" in page


def test_an_entry_that_is_not_there_is_not_found(client: Client) -> None:
    """Whatever the key looks like."""
    for key in ("nothing", "own-1", "own-x", "own-", "-"):
        assert client.get(f"/exercises/{key}/").status_code == 404


def test_the_clinics_own_entries_stand_beside_the_library(
    client: Client, clinician: User, stranger: User
) -> None:
    """Those of this clinic; the retired ones apart."""
    own, old = (
        add_exercise(by=clinician, name=name, target="foot", how="x", source="x")
        for name in ("Invented drill", "Invented old drill")
    )
    add_exercise(by=stranger, name="Foreign drill", target="foot", how="x", source="x")
    retire_exercise(old, by=clinician)
    page = words(client.get("/exercises/"))
    assert f"/exercises/own-{own.pk}/" in page
    assert page.index("Retired") < page.index("Invented old drill")
    assert "Foreign drill" not in page
