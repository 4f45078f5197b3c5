"""A posted visit form, as a browser would send it: shared by the tests of its pages."""

from collections.abc import Iterable
from typing import Any

from clinic.models import Episode
from clinic.screening import questions
from clinic.submissions import new_form_key
from tests.factories import akps_answers

URL = "/cases/{}/visits/new/"


def no_to_all(*, age: int = 32, form: str = "short") -> dict[str, str]:
    """Return the screen answered with no throughout."""
    return {f"screen-{c.key}": "no" for c in questions(form, age=age)}


def attended(on: Any, **fields: Any) -> dict[str, Any]:
    """Return the form of an attended visit; fields replace, None removes."""
    sent = {
        "form_key": new_form_key(),
        "attendance": "attended",
        "visited_on": str(on),
        **no_to_all(),
        **fields,
    }
    return {name: value for name, value in sent.items() if value is not None}


def with_akps(
    total: int, *, without: Iterable[str] = (), **fields: Any
) -> dict[str, Any]:
    """Return the fields of an answered AKPS."""
    answers = {
        f"akps-{item}": code
        for item, code in akps_answers(total).items()
        if item not in without
    }
    details = {"forms": ["akps"], "akps-mode": "alone", "akps-language": "en"}
    return {**details, **answers, **fields}


def log_url(episode: Episode) -> str:
    """Return where a visit is logged."""
    return URL.format(episode.pk)
