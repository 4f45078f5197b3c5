"""A few letters of the invented clinic: signed ones, and a draft to go on with."""

from __future__ import annotations

from datetime import date

from clinic.models import Episode, Site

from ..letters.acts import change_letter, draft_letter, sign_letter
from ..letters.parts import Part, parts_of
from ..models import Letter

REFERRER = "Dr Quillon Vastermere\nInvented Street Surgery\n4 Invented Street"
# What the clinician adds where the record holds nothing, by the heading of the part.
ADDED = {
    "Advice": "Please send the patient back if the knee stops settling overnight, or "
    "if anything new appears. No further test is asked for.",
    "What the patient goes on with": "The home programme twice a week.",
    "What to do now": "Go on with your exercises twice a week. If your knee is still "
    "sore the next morning, do less the next time. Call us if that does not help.",
    "Plan": "The same programme, looked at again at the next visit.",
}


def write_letters(site: Site, *, on: date) -> None:
    """Write letters about the last cases that ended, and about some in care."""
    cases = Episode.objects.standing().filter(site=site)
    cases = cases.exclude(patient__episodes__screens__is_positive=True).select_related(
        "patient", "clinician", "site", "continues"
    )
    for case in cases.filter(discharge_reason="goals met").order_by(
        "-discharged_on", "pk"
    )[:2]:
        _signed(case, Letter.Kind.DISCHARGE, on=on)
        _signed(case, Letter.Kind.SUMMARY, on=on)
    in_care = cases.filter(discharged_on=None, assessments__isnull=False).distinct()
    first, second = in_care.order_by("opened_on", "pk")[:2]
    _signed(first, Letter.Kind.PROGRESS, on=on)
    _drafted(second, Letter.Kind.PROGRESS, on=on)


def _drafted(case: Episode, kind: str, *, on: date) -> Letter:
    to = "" if kind == Letter.Kind.SUMMARY else REFERRER
    return draft_letter(case, by=case.clinician, kind=kind, on=on, addressed_to=to)


def _signed(case: Episode, kind: str, *, on: date) -> None:
    letter = _drafted(case, kind, on=on)
    change_letter(
        letter,
        by=case.clinician,
        version=letter.version,
        addressed_to=letter.addressed_to,
        written_on=on,
        parts=[filled for part in parts_of(letter) if (filled := _filled(part)).text],
    )
    sign_letter(letter, by=case.clinician, version=letter.version)


def _filled(part: Part) -> Part:
    """Return the part with invented words where it asks for some."""
    if part.text and not part.ask:
        return part
    return Part(part.heading, ADDED.get(part.heading, part.text))
