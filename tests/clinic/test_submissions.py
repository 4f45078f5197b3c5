"""A form that is sent twice is saved once."""

import uuid

import pytest
from django.http import HttpRequest, QueryDict
from django.test import RequestFactory

from clinic.models import Site, Submission, User
from clinic.submissions import KeyReused, fingerprint, save_once

KEY = "5f0c4c1e-8f4e-4c39-9d0f-0d8a6a6c1f11"


def form(user: User, **fields: str) -> HttpRequest:
    """Return a posted form of a person."""
    request = RequestFactory().post("/", fields)
    request.user = user
    return request


def add_site(name: str) -> str:
    """Do something that can be counted; return an address."""
    Site.objects.create(name=name)
    return f"/{name}/"


def test_a_repeat_returns_the_first_outcome(clinician: User) -> None:
    """The act runs once."""
    request = form(clinician, form_key=KEY, note="a")
    first = save_once(request, lambda: add_site("one"))
    assert save_once(request, lambda: add_site("two")) == first == "/one/"
    assert not Site.objects.filter(name="two").exists()


def test_the_order_of_fields_and_the_safety_mark_are_no_content() -> None:
    """What was entered decides, not how the browser sent it."""
    one = QueryDict("a=1&b=2&csrfmiddlewaretoken=x&form_key=k&typed_by=3")
    two = QueryDict("b=2&csrfmiddlewaretoken=y&a=1")
    assert fingerprint(one) == fingerprint(two)
    assert fingerprint(QueryDict("a=1&a=2")) != fingerprint(QueryDict("a=2&a=1"))


def test_the_same_key_with_other_content_is_refused(clinician: User) -> None:
    """Nothing of the second form is kept."""
    save_once(form(clinician, form_key=KEY, note="a"), lambda: add_site("one"))
    with pytest.raises(KeyReused):
        save_once(form(clinician, form_key=KEY, note="b"), lambda: add_site("two"))
    assert not Site.objects.filter(name="two").exists()


def test_an_act_that_fails_frees_its_key(clinician: User) -> None:
    """The mended form may come under the same key, with other content."""

    def fail() -> str:
        add_site("half")
        raise ValueError

    with pytest.raises(ValueError):
        save_once(form(clinician, form_key=KEY, note="a"), fail)
    assert not Submission.objects.exists()
    assert not Site.objects.filter(name="half").exists()
    outcome = save_once(form(clinician, form_key=KEY, note="b"), lambda: add_site("b"))
    assert outcome == "/b/"


def test_keys_are_each_persons_own(clinician: User, colleague: User) -> None:
    """A key of somebody else says nothing."""
    save_once(form(clinician, form_key=KEY), lambda: add_site("one"))
    assert save_once(form(colleague, form_key=KEY), lambda: add_site("two")) == "/two/"


@pytest.mark.parametrize("key", ["", "not a key"])
def test_a_form_without_a_key_counts_as_new(clinician: User, key: str) -> None:
    """Each is saved."""
    for name in ("one", "two"):
        save_once(form(clinician, form_key=key), lambda name=name: add_site(name))
    assert Submission.objects.values("key").distinct().count() == 2
    assert all(isinstance(s.key, uuid.UUID) for s in Submission.objects.all())
