"""Writes an import, table by table in batches, inside the caller's transaction."""

from itertools import pairwise
from typing import Any

from clinic import audit as clinic_audit
from clinic.admitting import discharge
from clinic.audit import Action
from clinic.models import AuditEvent, Episode, Patient, User, Visit
from clinic.models.record import new_line
from programs.models import SessionResponse

from ..models import Activity, Assessment, PainScore
from .matching import Caseload, Span

AT_ONCE = 2_000


class Writer:
    """Collects rows and writes them; one that is off only lets them pass."""

    def __init__(self, *, by: User, request_id: str, is_on: bool) -> None:
        self.by = by
        self.request_id = request_id
        self.is_on = is_on
        self._drop()

    def _drop(self) -> None:
        self.activities: list[Activity] = []
        self.visits: list[Visit] = []
        self.responses: list[SessionResponse] = []
        self.pains: list[PainScore] = []
        self.assessments: list[Assessment] = []

    def stop(self) -> None:
        """Write nothing more: a fault was found, and the transaction will end."""
        self.is_on = False

    def write_if_full(self) -> None:
        """Write what was collected once it is worth it."""
        if len(self.visits) + len(self.assessments) >= AT_ONCE:
            self.write()

    def write(self) -> None:
        """Write what was collected, parents first."""
        if self.is_on:
            for rows in (
                self.activities,
                self.visits,
                self.responses,
                self.pains,
                self.assessments,
            ):
                if rows:
                    type(rows[0])._default_manager.bulk_create(rows)  # type: ignore[arg-type]
        self._drop()

    def write_people(self, caseload: Caseload) -> None:
        """Write new patients, episodes and discharges, each with its audit line."""
        if not self.is_on:
            return
        Patient.objects.bulk_create(caseload.new_patients)
        # First, so that a knee never has two open episodes.
        self._discharge(caseload)
        Episode.objects.bulk_create(caseload.new_episodes)
        link_recurrences(caseload)
        lines = [
            self._line(clinic_audit.PATIENT_ADMITTED, patient)
            for patient in caseload.new_patients
        ]
        lines += [
            self._line(clinic_audit.EPISODE_OPENED, opened.patient, episode=opened.pk)
            for opened in caseload.new_episodes
        ]
        AuditEvent.objects.record_all(lines, by=self.by)

    def _discharge(self, caseload: Caseload) -> None:
        for episode, row in caseload.discharges:
            assert row.discharged_on is not None  # noqa: S101 - what makes it one
            discharge(
                episode,
                by=self.by,
                on=row.discharged_on,
                reason=row.discharge_reason,
                note="",
                version=episode.version,
            )

    def _line(self, action: Action, patient: Patient, **detail: Any) -> AuditEvent:
        return new_line(
            action,
            by=self.by,
            patient=patient,
            request_id=self.request_id,
            detail=detail,
        )


def link_recurrences(caseload: Caseload) -> None:
    """Let each new episode of a knee continue the one before it."""
    new = {episode.pk for episode in caseload.new_episodes}
    linked = []
    for spans in caseload.spans.values():
        standing = sorted(
            (span for span in spans if not span.is_withdrawn),
            key=lambda span: span.opened_on,
        )
        linked += [
            _continue(later.episode, earlier)
            for earlier, later in pairwise(standing)
            if later.episode.pk in new
        ]
    Episode.objects.bulk_update(linked, ["continues"], batch_size=AT_ONCE)


def _continue(episode: Episode, earlier: Span) -> Episode:
    episode.continues = earlier.episode
    return episode
