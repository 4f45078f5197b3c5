"""Reference periods: frozen when declared, one in force for each subject."""

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clinic.models import AuditEvent, Site, User
from outcomes.models import FrozenReference
from outcomes.references import declare_reference, reference_in_force, references_of

YEAR = {"from_on": date(2025, 1, 1), "until_on": date(2025, 12, 31)}


def declare(site: Site, by: User, **changes: Any) -> FrozenReference:
    """Declare the share of last year, or what a test changes of it."""
    stated: dict[str, Any] = {
        "subject": "share improved",
        "numbers": {"centre": 0.62},
        "why": "The last year before the new programme.",
        **YEAR,
    }
    return declare_reference(site=site, by=by, **{**stated, **changes})


def test_a_declared_reference_is_in_force_with_its_numbers(
    site: Site, lead: User
) -> None:
    """What was declared is what later periods are held against."""
    made = declare(site, lead)
    assert reference_in_force(site, "share improved") == made
    assert (made.from_on, made.until_on) == (YEAR["from_on"], YEAR["until_on"])
    assert made.numbers == {"centre": 0.62}
    assert reference_in_force(site, "model akps") is None


def test_a_later_one_retires_the_earlier_and_keeps_it(site: Site, lead: User) -> None:
    """Nothing is overwritten: the earlier numbers stay on record."""
    first = declare(site, lead)
    second = declare(site, lead, numbers={"centre": 0.7})
    first.refresh_from_db()
    assert first.retired_at is not None
    assert first.numbers == {"centre": 0.62}
    assert reference_in_force(site, "share improved") == second
    assert references_of(site) == {"share improved": [second, first]}


def test_each_subject_and_each_site_has_its_own(
    site: Site, lead: User, other_site: Site, stranger: User
) -> None:
    """Declaring one leaves the others as they are."""
    share = declare(site, lead)
    model = declare(site, lead, subject="model akps", numbers={"n": 60})
    elsewhere = declare(other_site, stranger, numbers={"centre": 0.1})
    assert reference_in_force(site, "share improved") == share
    assert reference_in_force(site, "model akps") == model
    assert reference_in_force(other_site, "share improved") == elsewhere
    assert set(references_of(site)) == {"share improved", "model akps"}


def test_the_record_says_who_declared_what_and_what_it_replaced(
    site: Site, lead: User
) -> None:
    """One line for each declaration."""
    first = declare(site, lead)
    second = declare(site, lead)
    lines = AuditEvent.objects.filter(action="reference.declared").order_by("pk")
    assert [line.by for line in lines] == [lead, lead]
    assert [line.detail["replaces"] for line in lines] == [None, first.pk]
    assert lines[1].detail == {
        "reference": second.pk,
        "replaces": first.pk,
        "subject": "share improved",
        "from_on": "2025-01-01",
        "until_on": "2025-12-31",
    }


def test_a_stranger_or_a_period_without_length_is_refused(
    site: Site, lead: User, stranger: User
) -> None:
    """A refused declaration leaves the one in force alone."""
    standing = declare(site, lead)
    with pytest.raises(ValueError, match="a person of the site"):
        declare(site, stranger)
    with pytest.raises(ValueError, match="ends after its first day"):
        declare(site, lead, until_on=YEAR["from_on"])
    assert reference_in_force(site, "share improved") == standing


def test_the_database_holds_one_in_force(site: Site, lead: User) -> None:
    """Two declarations at the same moment cannot both stand."""
    made = declare(site, lead)
    made.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        made.save()
