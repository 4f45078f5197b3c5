"""The clinic's records; nothing clinical is ever deleted, mistakes are voided."""

from .care import Cover, Episode, Patient, Side
from .people import Site, User
from .record import AuditChain, AuditEvent, Submission
from .sign_ins import OpenSession, SignInPolicy
from .visits import ContactAttempt, Screen, Visit

__all__ = [
    "AuditChain",
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
    "User",
    "Visit",
]
