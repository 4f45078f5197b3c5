"""The one door to a case: fetched scoped, or not found; who opens it is noted."""

from datetime import date

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404

from .access import Capability, can
from .looking import note_opened
from .models import Episode, Patient, User


def find_patient(user: User, pk: int) -> Patient:
    """Return a patient of the person's site, or raise Http404."""
    patient: Patient = get_object_or_404(Patient.objects.for_user(user), pk=pk)
    note_opened(patient)
    return patient


def find_case(user: User, pk: int) -> Episode:
    """Return an episode of the person's site, or raise Http404."""
    episodes = Episode.objects.for_user(user).select_related(
        "patient", "clinician", "site", "continues"
    )
    episode: Episode = get_object_or_404(episodes, pk=pk)
    note_opened(episode.patient)
    return episode


class NotYourCase(PermissionDenied):
    """Somebody who does not treat the case wanted to write in it."""

    def __init__(self, *, case: Episode, words: str) -> None:
        super().__init__(words)
        self.case = case


def treats(user: User, episode: Episode, *, on: date) -> bool:
    """Whether the person may write in a case: its clinician, cover, or the lead."""
    if can(user, Capability.TREAT_ANY):
        return True
    if not can(user, Capability.TREAT):
        return False
    if episode.clinician_id == user.pk:
        return True
    return episode.covers.active(on).filter(covered_by=user).exists()


def find_case_to_treat(user: User, pk: int, *, on: date) -> Episode:
    """Return a case to write in; a colleague without the right is refused (403)."""
    episode = find_case(user, pk)
    if not treats(user, episode, on=on):
        raise NotYourCase(
            case=episode,
            words=f"This case belongs to {episode.clinician}. Open it and choose "
            "“Cover this case”, or ask the clinic lead to hand it over.",
        )
    return episode
