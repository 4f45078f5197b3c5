"""Why the database could not keep something, in words for whoever stands before it."""

from dataclasses import dataclass

from django.db import Error, InterfaceError, OperationalError, connection

# When to ask again (project assumption).
RETRY_SECONDS = 10
TELL = "Tell whoever looks after this installation."


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is the matter, and who mends it."""

    title: str
    says: str


FULL = Trouble(
    "The disk is full",
    f"Nothing was saved. There is no room left for the records. {TELL}",
)
READ_ONLY = Trouble(
    "The records cannot be written to",
    f"Nothing was saved. The database is read-only or its disk is. {TELL}",
)
BUSY = Trouble(
    "The database is busy",
    "Nothing was saved. Somebody else's work holds it for too long.",
)
AWAY = Trouble(
    "The records cannot be reached for a moment",
    "What you were saving is either stored whole or not at all.",
)
# What SQLite and PostgreSQL say; the latter by its codes (SQLSTATE).
SAID = {
    "database or disk is full": FULL,
    "readonly database": READ_ONLY,
    "disk i/o error": FULL,
    "unable to open database file": READ_ONLY,
    "database is locked": BUSY,
}
CODES = {"53100": FULL, "25006": READ_ONLY, "55P03": BUSY, "57014": BUSY}


def trouble_of(error: BaseException | None) -> Trouble | None:
    """Return the trouble behind an error; None for any other failure."""
    if not isinstance(error, Error):
        return None
    code = getattr(error.__cause__, "sqlstate", None)
    if code in CODES:
        return CODES[code]
    said = str(error).lower()
    for words, trouble in SAID.items():
        if words in said:
            return trouble
    return AWAY if is_away(error) else None


def is_away(error: Error) -> bool:
    """Whether a server cannot be reached; an embedded database always can."""
    is_lost = isinstance(error, OperationalError | InterfaceError)
    return is_lost and connection.vendor != "sqlite"
