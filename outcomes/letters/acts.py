"""Acts on letters: draft, change, sign, void, and make one for paper.

A letter is edited while it is a draft; once signed its words and its head stay as
they were, whatever becomes of the record.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db import transaction
from django.utils import timezone

from clinic.models import AuditEvent, Episode, User
from clinic.versions import StaleEdit, claim
from clinic.voiding import void_on_record

from .. import audit
from ..models import Letter
from ..open_flags import open_flags_of_person
from .draft import draft_parts
from .parts import Part, frozen_body, kept, parts_of
from .sheet import head_of

SIGNED = "This letter is signed and stays as it is. Write a new one if it needs more."
VOIDED = "This letter was voided; write a new one."
EMPTY = "The letter is empty: write at least one part."
NOBODY = "Write to whom the letter goes."


class LetterRefused(Exception):
    """What was asked of a letter cannot be done; the reason says what to do."""

    def __init__(self, *reasons: str) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = reasons


@transaction.atomic
def draft_letter(
    episode: Episode, *, by: User, kind: str, on: date, addressed_to: str = ""
) -> Letter:
    """Draft a letter from the record as it stands on a day."""
    letter = Letter.objects.create(
        site_id=episode.site_id,
        episode=episode,
        kind=kind,
        addressed_to=addressed_to.strip(),
        written_on=on,
        body={"parts": kept(draft_parts(episode, kind=kind, on=on))},
        drafted_by=by,
    )
    AuditEvent.objects.record(
        audit.LETTER_DRAFTED,
        by=by,
        patient=episode.patient,
        letter=letter.pk,
        kind=kind,
    )
    return letter


@transaction.atomic
def change_letter(
    letter: Letter,
    *,
    by: User,
    version: int,
    addressed_to: str,
    written_on: date,
    parts: Sequence[Part],
) -> None:
    """Replace the words of a draft.

    Raises StaleEdit when somebody else changed it meanwhile, LetterRefused when it
    is no draft any more.
    """
    _claim_draft(letter, version)
    letter.addressed_to = addressed_to.strip()
    letter.written_on = written_on
    letter.body = {"parts": kept(parts)}
    letter.save(update_fields=["addressed_to", "written_on", "body"])
    AuditEvent.objects.record(
        audit.LETTER_CHANGED,
        by=by,
        patient=letter.episode.patient,
        letter=letter.pk,
        headings=[part.heading for part in parts],
    )


@transaction.atomic
def sign_letter(letter: Letter, *, by: User, version: int) -> None:
    """Put a name under a letter and keep it as it is from then on.

    Raises LetterRefused with what has to be done first, StaleEdit when somebody
    else changed the letter meanwhile.
    """
    _claim_draft(letter, version)
    if reasons := reasons_against(letter):
        raise LetterRefused(*reasons)
    letter.body = frozen_body(parts_of(letter), head_of(letter))
    letter.signed_by, letter.signed_name = by, str(by)
    letter.signed_at = timezone.now()
    letter.save(update_fields=["body", "signed_by", "signed_name", "signed_at"])
    AuditEvent.objects.record(
        audit.LETTER_SIGNED,
        by=by,
        patient=letter.episode.patient,
        letter=letter.pk,
        kind=letter.kind,
    )


@transaction.atomic
def void_letter(letter: Letter, *, by: User, why: str, version: int) -> None:
    """Withdraw a letter, draft or signed; a copy that was sent stays where it is."""
    _claim(letter, version)
    void_on_record(
        letter, by=by, why=why, action=audit.LETTER_VOIDED, episode=letter.episode
    )


@transaction.atomic
def record_letter(letter: Letter, *, by: User, kind: str) -> None:
    """Put on the record who made a letter for paper: "page" or "pdf"."""
    AuditEvent.objects.record(
        audit.LETTER_MADE,
        by=by,
        patient=letter.episode.patient,
        letter=letter.pk,
        kind=kind,
    )


def reasons_against(letter: Letter) -> tuple[str, ...]:
    """Return what has to be done before a draft can be signed; one query."""
    found = [
        f"Decide first on the red-flag answer of the {flag.screen.episode.side} knee: "
        f"{'; '.join(concern.ask for concern in flag.concerns)}."
        for flag in open_flags_of_person(letter.episode)
    ]
    parts = parts_of(letter)
    if not any(part.text.strip() for part in parts):
        found.append(EMPTY)
    else:
        found += [
            f"“{part.heading}” is empty: write it, or remove it."
            for part in parts
            if not part.text.strip()
        ]
    if not letter.addressed_to and letter.kind != Letter.Kind.SUMMARY:
        found.append(NOBODY)
    return tuple(found)


def _claim_draft(letter: Letter, version: int) -> None:
    """Lock a letter that is still a draft, or say why it no longer is one."""
    try:
        _claim(letter, version)
    except StaleEdit:
        if not letter.signed_at:
            raise
    if letter.signed_at:
        raise LetterRefused(SIGNED)


def _claim(letter: Letter, version: int) -> None:
    """Lock a letter that stands."""
    try:
        claim(letter, version)
    except StaleEdit:
        if letter.is_standing:
            raise
    if not letter.is_standing:
        raise LetterRefused(VOIDED)
