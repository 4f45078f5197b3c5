"""What a passphrase may not be, beyond being short or commonly used."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from clinic.invitations import add_person
from clinic.models import Site, User


@pytest.fixture
def person(db: None) -> User:
    """A person of a clinic whose name is worth guessing."""
    site = Site.objects.create(name="Invented Lake Clinic")
    return add_person(site=site, username="w.orrel", role="clinician")


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("passwordpassword", "repeats"),
        ("Password password PASSWORD", "repeats"),
        ("abcabcabcabcabcab", "repeats"),
        ("heron heron heron", "repeats"),
        ("1111111111111111", "repeats"),
        ("aabbaabcbacbabca", "repeats"),
        ("----------------", "repeats"),
        ("sunshine-basketball", "commonly used"),
        ("password12345678", "commonly used"),
        ("Invented Lake Clinic", "name of the clinic"),
        ("inventedlakeclinic7", "name of the clinic"),
        ("my invented-lake-clinic", "name of the clinic"),
    ],
)
def test_what_is_guessed_first_is_refused(
    person: User, typed: str, reason: str
) -> None:
    """The message says why and what to do."""
    with pytest.raises(ValidationError) as refused:
        validate_password(typed, person)
    said = " ".join(refused.value.messages)
    assert reason in said
    assert "Take several words" in said


@pytest.mark.parametrize(
    "typed",
    ["heron kettle seven lake", "quiet lanterns over moss", "invented long passphrase"],
)
def test_several_words_are_enough(person: User, typed: str) -> None:
    """No capitals, digits or signs are asked for."""
    validate_password(typed, person)


def test_a_short_name_of_a_clinic_is_no_obstacle(db: None) -> None:
    """Three letters occur in too many words."""
    site = Site.objects.create(name="Ant")
    person = add_person(site=site, username="w.orrel", role="clinician")
    validate_password("lantern kettle moss", person)
