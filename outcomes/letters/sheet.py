"""Read model of a letter as it stands on paper, and of the letters of a case."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from clinic.audit import ACTIONS
from clinic.models import AuditEvent, Episode
from clinic.templatetags.clinic_format import side

from ..models import Letter
from ..science.verdicts import day
from .parts import Part, parts_of

TITLES = {
    Letter.Kind.PROGRESS: "Progress letter",
    Letter.Kind.DISCHARGE: "Discharge letter",
    Letter.Kind.SUMMARY: "About your knee",
}
# Acts after which a draft may no longer say what the record says, by their codes.
DRAFTED_FROM = (
    "patient.",
    "episode.",
    "visit.",
    "assessment.",
    "screen.",
    "event.",
    "other_care.",
    "programme.",
    "phase.",
    "line.",
    "case.reviewed",
)


@dataclass(frozen=True, slots=True)
class LetterSheet:
    """A letter on paper: its head, its parts, and who signed it."""

    letter: Letter
    clinic: str
    is_demo: bool
    about: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]

    @property
    def title(self) -> str:
        """What stands above the letter."""
        return TITLES[Letter.Kind(self.letter.kind)]

    @property
    def is_for_patient(self) -> bool:
        """Whether the patient reads it, for whom it is set larger."""
        return self.letter.kind == Letter.Kind.SUMMARY


def head_of(letter: Letter) -> dict[str, Any]:
    """Return who and what a letter is about, as the record says now."""
    case = letter.episode
    patient = case.patient
    name = f"{patient.given_name} {patient.family_name}".strip()
    about = [["For" if letter.kind == Letter.Kind.SUMMARY else "About", name]]
    if letter.kind != Letter.Kind.SUMMARY:
        about += [
            ["Born", day(patient.birth_date)],
            ["Record number", patient.record_number],
            ["Knee", side(case.side)],
        ]
    return {"clinic": case.site.name, "is_demo": case.site.is_demo, "about": about}


def read_sheet(letter: Letter) -> LetterSheet:
    """Return a letter as on paper: a signed one from what was kept with it."""
    head = letter.body.get("head") or head_of(letter)
    return LetterSheet(
        letter=letter,
        clinic=head["clinic"],
        is_demo=head["is_demo"],
        about=tuple((label, value) for label, value in head["about"]),
        parts=parts_of(letter),
    )


def letters_of(episode: Episode) -> list[Letter]:
    """Return the letters of a case, newest first; one query."""
    letters = Letter.objects.standing().filter(episode=episode)
    return list(letters.select_related("drafted_by").order_by("-written_on", "-pk"))


def entered_since(letter: Letter) -> tuple[str, ...]:
    """Return what was done on the person's record after the draft; one query."""
    events = AuditEvent.objects.filter(
        patient_id=letter.episode.patient_id, at__gt=letter.drafted_at
    )
    actions = events.order_by("at", "pk").values_list("action", flat=True)
    return tuple(
        ACTIONS[action].sentence
        for action in dict.fromkeys(actions)
        if action.startswith(DRAFTED_FROM)
    )


def last_addressee(episode: Episode) -> str:
    """Return to whom the last letter about this person went; one query."""
    letters = Letter.objects.standing().filter(
        episode__patient_id=episode.patient_id,
        kind__in=(Letter.Kind.PROGRESS, Letter.Kind.DISCHARGE),
    )
    last = letters.exclude(addressed_to="").order_by("-written_on", "-pk").first()
    return str(last.addressed_to) if last else ""
