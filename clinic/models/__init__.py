"""The clinic's records; nothing clinical is ever deleted, mistakes are voided."""

from .care import (
    ContactAttempt,
    Cover,
    Episode,
    Patient,
    Screen,
    Side,
    Visit,
)
from .people import Site, User
from .record import AuditEvent, Submission

__all__ = [
    "AuditEvent",
    "ContactAttempt",
    "Cover",
    "Episode",
    "Patient",
    "Screen",
    "Side",
    "Site",
    "Submission",
    "User",
    "Visit",
]
