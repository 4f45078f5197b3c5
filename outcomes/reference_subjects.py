"""What a reference period can be declared for: its address and its words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .science.measures import PRIMARY_KEYS, measure


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceSubject:
    """One subject; `measure` is the key of the measure that a model is for, or empty.

    Every subject is frozen on the cases of the whole clinic that were opened in the
    period.
    """

    slug: str
    subject: str
    title: str
    what: str
    section: str
    measure: str = ""


def model_of(key: str) -> str:
    """Return the subject of a measure's model of the expected follow-up."""
    return f"model {key}"


def _model(key: str) -> ReferenceSubject:
    name = measure(key).short_name
    return ReferenceSubject(
        slug=f"model-{key.replace('_', '-')}",
        subject=model_of(key),
        title=f"{name} to expect",
        what=f"The {name} at follow-up is fitted on the first score and the months of "
        "symptoms, one knee a person. Later cases are held against that line.",
        section="adjusted",
        measure=key,
    )


def _months(subject: str, title: str, what: str) -> ReferenceSubject:
    return ReferenceSubject(
        slug=subject, subject=subject, title=title, what=what, section="months"
    )


_ALL = (
    _months(
        "share-reached",
        "Share that reached an important gain",
        "The limits of the months are frozen on the months of the period.",
    ),
    _months(
        "re-measured",
        "Share measured again when due",
        "The limits of the months are frozen on the months of the period.",
    ),
    _months(
        "opened",
        "Cases opened a month",
        "The limits of the months are frozen on the whole months of the period.",
    ),
    *map(_model, PRIMARY_KEYS),
)
SUBJECTS: Mapping[str, ReferenceSubject] = {about.slug: about for about in _ALL}
