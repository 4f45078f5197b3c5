"""The clinic's records; nothing clinical is ever deleted, mistakes are voided."""

from .care import Cover, Episode, Patient, Side
from .people import Site, User
from .record import AuditEvent, Submission
from .sign_ins import OpenSession, SignInPolicy, UnknownSignIn
from .visits import ContactAttempt, Screen, Visit

__all__ = [
    "AuditEvent",
    "ContactAttempt",
    "Cover",
    "Episode",
    "OpenSession",
    "Patient",
    "Screen",
    "Side",
    "SignInPolicy",
    "Site",
    "Submission",
    "UnknownSignIn",
    "User",
    "Visit",
]
