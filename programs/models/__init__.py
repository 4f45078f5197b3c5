"""What was prescribed and done, how the knee answered, and what stood in the way."""

from .other_care import OtherCare
from .plan import ClinicExercise, Phase, Prescription, Programme
from .policy import SiteDosing
from .responses import NextMorning, SessionLog, SessionResponse, SuggestionChoice
from .safety import AdverseEvent, FlowScreen

__all__ = [
    "AdverseEvent",
    "ClinicExercise",
    "FlowScreen",
    "NextMorning",
    "OtherCare",
    "Phase",
    "Prescription",
    "Programme",
    "SessionLog",
    "SessionResponse",
    "SiteDosing",
    "SuggestionChoice",
]
