"""Entries that a clinic adds to the library: added by any clinician, never deleted."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from clinic.models import AuditEvent, User
from programs.models import ClinicExercise
from programs.own_exercises import add_exercise

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def own(clinician: User) -> ClinicExercise:
    """An entry that the clinician added."""
    return add_exercise(
        by=clinician,
        name="Invented drill",
        target="foot",
        how="Stand and lift.",
        source="Common practice",
    )


def sent(**changes: str) -> dict[str, str]:
    """Return a filled form."""
    return {
        "name": "Invented hop",
        "target": "landing",
        "is_weight_bearing": "on",
        "how": "Hop <b>softly</b>.",
        "source": "Common practice",
        "form_key": str(uuid.uuid4()),
        **changes,
    }


def words(answer: Any) -> str:
    """Return the text of an answer, white space evened."""
    return " ".join(answer.content.decode().split())


def test_any_clinician_adds_an_entry(
    colleague: User, signed_in: Callable[[User], Client]
) -> None:
    """It is on record, and its words are shown as words."""
    client, form = signed_in(colleague), sent()
    answer = client.post("/exercises/own/new/", form)
    made = ClinicExercise.objects.get()
    assert answer.url == f"/exercises/own-{made.pk}/"
    assert (made.added_by, made.site) == (colleague, colleague.site)
    assert AuditEvent.objects.filter(action="exercise.added").count() == 1
    page = words(client.get(answer.url))
    assert "Hop &lt;b&gt;softly&lt;/b&gt;." in page
    assert "local rules come first" in page
    assert client.post("/exercises/own/new/", form).url == answer.url
    assert ClinicExercise.objects.count() == 1


@pytest.mark.parametrize(
    "changes",
    [
        {"name": "INVENTED DRILL"},
        {"name": ""},
        {"how": ""},
        {"source": ""},
        {"target": "nose"},
    ],
)
def test_an_entry_is_whole_and_of_a_new_name(
    own: ClinicExercise,
    clinician: User,
    signed_in: Callable[[User], Client],
    changes: dict[str, str],
) -> None:
    """Typing is kept, nothing is added."""
    answer = signed_in(clinician).post("/exercises/own/new/", sent(**changes))
    assert answer.status_code == 422
    assert ClinicExercise.objects.count() == 1


def test_the_same_name_at_another_clinic_is_free(
    own: ClinicExercise, stranger: User, signed_in: Callable[[User], Client]
) -> None:
    """Libraries of clinics do not meet."""
    form = sent(name="Invented drill")
    answer = signed_in(stranger).post("/exercises/own/new/", form)
    assert answer.status_code == 302


@pytest.mark.parametrize("who", ["clinician", "lead"])
def test_the_adder_and_the_lead_retire_it(
    own: ClinicExercise,
    signed_in: Callable[[User], Client],
    who: str,
    request: pytest.FixtureRequest,
) -> None:
    """It stays, readable and marked; a second tap changes nothing."""
    client = signed_in(request.getfixturevalue(who))
    for _ in range(2):
        answer = client.post(f"/exercises/own/{own.pk}/retire/")
        assert answer.status_code == 302
    own.refresh_from_db()
    assert own.retired_at
    assert AuditEvent.objects.filter(action="exercise.retired").count() == 1
    assert "retired" in words(client.get(f"/exercises/own-{own.pk}/"))


def test_a_colleague_sees_no_button_and_is_refused(
    own: ClinicExercise, colleague: User, signed_in: Callable[[User], Client]
) -> None:
    """The entry is another's."""
    client = signed_in(colleague)
    assert "Retire it" not in words(client.get(f"/exercises/own-{own.pk}/"))
    assert client.post(f"/exercises/own/{own.pk}/retire/").status_code == 403
